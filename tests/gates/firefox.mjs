/** Page, search and walk in Firefox from the disk: `node firefox.mjs MODULES FIREFOX STEPS`; prints what each step gave.
 *
 * STEPS is a JSON list of [address, script]: the script is run on the page until it gives something.
 */
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";

const [modules, binary, steps] = process.argv.slice(2);
const puppeteer = createRequire(pathToFileURL(`${modules}/`).href)("puppeteer-core");
const browser = await puppeteer.launch({ browser: "firefox", executablePath: binary, headless: true });
const page = await browser.newPage();
const found = [];
for (const [address, script] of JSON.parse(steps)) {
  if (address) await page.goto(address);
  const handle = await page.waitForFunction(script, { timeout: 20000 });
  found.push(await handle.jsonValue());
}
console.log(JSON.stringify(found));
await browser.close();

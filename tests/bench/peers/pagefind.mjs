// Builds pagefind's index of the nodes, each a record of its own, through its programming interface.
import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const { library, rows, out } = JSON.parse(fs.readFileSync(0, "utf8"));
const entry = JSON.parse(fs.readFileSync(path.join(library, "package.json"), "utf8")).exports["."];
const pagefind = await import(pathToFileURL(path.join(library, typeof entry === "string" ? entry : entry.import || entry.default)));
const started = performance.now();
const { index } = await pagefind.createIndex();
for (const { id, name, said, body } of rows) {
  const record = { url: `/${id}`, content: `${name}. ${said}. ${body}`, language: "en", meta: { title: name, said } };
  const { errors } = await index.addCustomRecord(record);
  if (errors.length) throw new Error(errors[0]);
}
const { errors } = await index.writeFiles({ outputPath: out });
if (errors.length) throw new Error(errors[0]);
await pagefind.close();
process.stdout.write(JSON.stringify({ seconds: (performance.now() - started) / 1000 }));

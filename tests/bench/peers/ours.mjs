// Asks the site's own scripts in Node: what is loaded for a first answer, how long warm ones take, what slips cost.
import fs from "node:fs";
import path from "node:path";
import vm from "node:vm";

const { root, questions, slips, rounds } = JSON.parse(fs.readFileSync(0, "utf8"));
const scripts = ["find"].map((name) => `static/${name}.js`);
const compiled = new Map();

function script(name) {
  if (!compiled.has(name)) compiled.set(name, new vm.Script(fs.readFileSync(path.join(root, name), "utf8"), { filename: name }));
  return compiled.get(name);
}

/** A page's document that loads scripts from the site's folder and notes their names. */
function documentOf(run, loaded) {
  const appendChild = (element) => {
    loaded.push(element.src);
    setImmediate(() => {
      run(element.src);
      element.onload();
    });
  };
  return { createElement: () => ({}), documentElement: { dataset: { root: "" } }, head: { appendChild } };
}

/** What a page that was just opened loads to answer one question. */
async function first(ask) {
  const loaded = [];
  const page = vm.createContext({ atob, TextDecoder });
  const run = (name) => script(name).runInContext(page);
  page.document = documentOf(run, loaded);
  scripts.forEach(run);
  await ask(page.Backprobe);
  return loaded;
}

const found = [];
const searched = [];
for (const question of questions) {
  found.push(await first((Backprobe) => Backprobe.find(question)));
  searched.push(await first((Backprobe) => Backprobe.search(question)));
}

// From here on one page that stays open.
const run = (name) => script(name).runInThisContext();
globalThis.document = documentOf(run, []);
scripts.forEach(run);
const { Backprobe } = globalThis;

/** The data of a part of the index, as the page takes it. */
function part(name) {
  const text = fs.readFileSync(path.join(root, `search/${name}.js`), "utf8");
  return JSON.parse(/^Backprobe\.take\("[^"]*","[^"]*",(.*)\);\n$/su.exec(text)[1]);
}

const boot = part("boot");
const ranking = new Backprobe.rank.Ranking(boot, []);
const shards = new Map();

/** What the index has of a term, with all of its documents. */
function held(term) {
  const { placeIn } = Backprobe.rank;
  const place = placeIn(boot.borders, term);
  const n = place < 0 || !boot.apart ? place : place * boot.apart + placeIn(part(`borders-${place}`), term);
  if (n < 0) return { lists: [], tail: -1, bound: 0 };
  if (!shards.has(n)) shards.set(n, ranking.terms(part(`terms-${n}`)));
  const found = shards.get(n).get(term) || { lists: [], tail: -1, bound: 0 };
  if (found.tail >= 0) ranking.lengthen(found, part(`tails-${found.tail}`));
  return found;
}

const full = [];
const weighed = [];
for (const question of questions) {
  const answer = await Backprobe.search(question);
  if (answer.hits.length === 10) full.push(question);
  weighed.push(answer.asked.terms.map(([term, weight]) => ({ term: held(term), weight })));
}

/** Milliseconds of each call, after one round that isn't counted. */
async function timed(all, call) {
  const spent = [];
  for (let round = 0; round <= rounds; round++) {
    for (const one of all) {
      const started = performance.now();
      await call(one);
      if (round) spent.push(performance.now() - started);
    }
  }
  return spent;
}

const rank = await timed(weighed, (terms) => {
  const { scores, met } = ranking.score(terms, null);
  return Backprobe.rank.foremost(met, scores, 10);
});
const find = await timed(questions, (question) => Backprobe.find(question));

const kept = [];
for (const [clean, slipped] of slips) {
  const [best] = await Backprobe.find(clean);
  kept.push(Boolean(best) && (await Backprobe.find(slipped)).some((hit) => hit.address === best.address));
}
process.stdout.write(JSON.stringify({ found, searched, rank, find, full, kept }));

// Runs rank.js and shards.js on the files of an index and answers the questions given on standard input.
"use strict";
const fs = require("node:fs");
const vm = require("node:vm");
const path = require("node:path");

const asked = JSON.parse(fs.readFileSync(0, "utf8"));
const loaded = [];
const page = vm.createContext({ atob, TextDecoder, console });
page.document = {
  createElement: () => ({}),
  documentElement: { dataset: { root: "../" } },
  head: {
    appendChild(script) {
      const name = script.src.replace(/^\.\.\//u, "");
      loaded.push(name);
      setImmediate(() => {
        if (!(name in asked.files)) return script.onerror();
        vm.runInContext(asked.files[name], page, { filename: name });
        return script.onload();
      });
    },
  },
};
for (const name of ["words.js", "rank.js", "shards.js"]) {
  const file = path.join(__dirname, "../../templates/static", name);
  vm.runInContext(fs.readFileSync(file, "utf8"), page, { filename: name });
}

async function main() {
  const { find, words } = page.Backprobe;
  const answers = [];
  for (const { query, kind, most, typing } of asked.queries) {
    try {
      answers.push(await find(query, { kind: kind || undefined, most, typing }));
    } catch (error) {
      answers.push({ error: error.message });
    }
  }
  const boot = /Backprobe\.take\("boot","[0-9a-f]+",(.*)\);/u.exec(asked.files["search/boot.js"] || "");
  const stems = /Backprobe\.take\("stems","[0-9a-f]+",(.*)\);/u.exec(asked.files["search/stems.js"] || "");
  const analysis = boot && new words.Analysis(JSON.parse(boot[1]).words, stems ? JSON.parse(stems[1]) : []);
  const units = asked.texts.map((text) => analysis && analysis.units(analysis.atoms(analysis.found(text))));
  const terms = units.map((found) => analysis.terms(found));
  const runs = units.map((found) => analysis.runs(found));
  process.stdout.write(JSON.stringify({ answers, terms, runs, stems: asked.words.map(words.stem), loaded }));
}
main();

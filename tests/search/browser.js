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
for (const name of ["rank.js", "shards.js"]) {
  const file = path.join(__dirname, "../../templates/static", name);
  vm.runInContext(fs.readFileSync(file, "utf8"), page, { filename: name });
}

async function main() {
  const { find, rank } = page.Backprobe;
  const answers = [];
  for (const { query, kind, most } of asked.queries) {
    try {
      answers.push(await find(query, { kind: kind || undefined, most }));
    } catch (error) {
      answers.push({ error: error.message });
    }
  }
  const boot = /Backprobe\.take\("boot","[0-9a-f]+",(.*)\);/u.exec(asked.files["search/boot.js"] || "");
  const stems = /Backprobe\.take\("stems","[0-9a-f]+",(.*)\);/u.exec(asked.files["search/stems.js"] || "");
  const analysis = boot && new rank.Analysis(JSON.parse(boot[1]).words, stems ? JSON.parse(stems[1]) : []);
  const terms = analysis ? asked.texts.map((text) => analysis.terms(text)) : [];
  const runs = analysis ? asked.texts.map((text) => analysis.runs(text)) : [];
  process.stdout.write(JSON.stringify({ answers, terms, runs, stems: asked.words.map(rank.stem), loaded }));
}
main();

// Builds the index of a JavaScript library, writes it for a page, reads it again as a page would, and asks it.
import fs from "node:fs";
import path from "node:path";
import vm from "node:vm";

const { name, library, rows, out, questions, slips, rounds } = JSON.parse(fs.readFileSync(0, "utf8"));
vm.runInThisContext(fs.readFileSync(library, "utf8"), { filename: library });
const made = name === "lunr" ? globalThis.lunr : globalThis.MiniSearch;
const FIELDS = ["name", "said", "body"];

// How each is asked: as its own manual shows it, slips forgiven. Built here and asked in pages alike.
const KINDS = {
  minisearch: {
    build() {
      const index = new made({ fields: FIELDS });
      index.addAll(rows);
      return index;
    },
    read: (text) => made.loadJSON(text, { fields: FIELDS }),
    ask: (index, words) => index.search(words, { fuzzy: 0.2 }).map((hit) => String(hit.id)),
  },
  lunr: {
    build: () =>
      made(function () {
        this.ref("id");
        FIELDS.forEach((field) => this.field(field));
        rows.forEach((row) => this.add(row));
      }),
    read: (text) => made.Index.load(JSON.parse(text)),
    ask: (index, words) => index.search(words.split(" ").map((word) => (word.length > 4 ? `${word} ${word}~1` : word)).join(" ")).map((hit) => hit.ref),
  },
};

const kind = KINDS[name];
const started = performance.now();
const text = JSON.stringify(kind.build());
const seconds = (performance.now() - started) / 1000;
fs.mkdirSync(out, { recursive: true });
fs.copyFileSync(library, path.join(out, "library.js"));
fs.writeFileSync(path.join(out, "index.js"), `INDEX = ${JSON.stringify(text)};\n`);
fs.writeFileSync(path.join(out, "cards.js"), `CARDS = ${JSON.stringify(rows.map((row) => [row.name, row.said]))};\n`);
fs.writeFileSync(
  path.join(out, "ask.js"),
  `const made = ${name === "lunr" ? "lunr" : "MiniSearch"}, FIELDS = ${JSON.stringify(FIELDS)};\nconst index = (${kind.read})(INDEX), ask = (words) => (${kind.ask})(index, words);\n`,
);

const index = kind.read(text);
const ask = (words) => kind.ask(index, words);
const warm = [];
for (let round = 0; round <= rounds; round++) {
  for (const question of questions) {
    const from = performance.now();
    ask(question);
    if (round) warm.push(performance.now() - from);
  }
}
const kept = slips.map(([clean, slipped]) => {
  const [best] = ask(clean);
  return best !== undefined && ask(slipped).slice(0, 10).includes(best);
});
process.stdout.write(JSON.stringify({ seconds, warm, kept }));

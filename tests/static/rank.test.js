"use strict";
const { test } = require("node:test");
const assert = require("node:assert/strict");
const { Analysis, normalise, stem } = require("../../templates/static/words.js");
const { Ranking, foremost, readTerms } = require("../../templates/static/rank.js");

/** Words of a base with one group of equals; what is left out is empty. */
function words(changes = {}) {
  const plain = { english: true, stems: false, joins: true, stops: "the of", same: [], splits: [], kin: [], equals: [] };
  return { ...plain, units: [["v", "v"], ["volts", "v"], ["%", "%"]], longest: 8, most: 3, ...changes };
}

/** The terms of a question. */
function termsOf(analysis, text) {
  return analysis.terms(analysis.units(analysis.atoms(analysis.found(text))));
}

/** Base64 of varints below 128 and letters. */
function packed(...parts) {
  return btoa(parts.map((part) => (typeof part === "string" ? part : String.fromCharCode(part))).join(""));
}

test("text becomes lower case words, one form for compatible characters", () => {
  assert.equal(normalise("Won’t\u00a0ﬁt\u200b ΟΔΟΣ 5‑6", true), "wont fit οδοσ 5-6");
  assert.equal(normalise("l’aile", false), "l aile");
});

test("pins, part numbers and quantities survive whole", () => {
  const analysis = new Analysis(words({ longest: 64, most: 32 }));
  assert.deepEqual(termsOf(analysis, "J2.tilt B1.+"), ["j2.tilt", "b1.+"]);
  assert.deepEqual(termsOf(analysis, "8K0-941 12.6 V 12volts 90 %"), ["8k0", "941", "8k0941", "12.6v", "12v", "90%"]);
});

test("the longest phrase with equals speaks for them all", () => {
  const equals = [["blinker", "_rep"], ["turn signal", "_rep"], ["turn", "_bend _go"]];
  const analysis = new Analysis(words({ equals }));
  assert.deepEqual(termsOf(analysis, "turn signals"), ["_rep"]);
  assert.deepEqual(termsOf(analysis, "the blinker turn"), ["_rep", "_bend", "_go"]);
});

test("a question is cut to the words that count", () => {
  assert.deepEqual(termsOf(new Analysis(words()), "a1 b2 c3 d4 e5"), ["a1", "b2", "c3"]);
  assert.deepEqual(termsOf(new Analysis(words()), "𐐨".repeat(20)), ["𐐨".repeat(8)]);
});

test("words beyond English take the stems that the base ships", () => {
  const analysis = new Analysis(words({ english: false, stems: true }), [["klappen", "klapp"]]);
  assert.deepEqual(termsOf(analysis, "klappen gefaltet"), ["klapp", "gefaltet"]);
});

// From memory of the sample vocabulary published with the Snowball English stemmer.
test("stems of the published list", () => {
  const published = "consigned:consign consisting:consist consistently:consist consolatory:consolatori knees:knee " +
    "knightly:knight knotted:knot knopp:knopp knavish:knavish knitting:knit consoling:consol conspirator:conspir";
  for (const [word, expected] of published.split(" ").map((pair) => pair.split(":"))) assert.equal(stem(word), expected);
});

test("a shard gives back its terms and postings", () => {
  // "lamp" in field 0 of documents 0 and 3 (twice there), with the levels of their lengths, 7 and 9;
  // "lamps" in fields 0 and 2 of document 1, where lengths don't count
  const data = packed(0, 4, "lamp", 1, 2 * 2 + 1, 0, 7, 2 * 2 + 1, 2, 9, 4, 1, "s", 5, 2, 2, 2, 2);
  const terms = readTerms([[[1, 3.5], [2, 2.25]], data]);
  assert.deepEqual([...terms.keys()], ["lamp", "lamps"]);
  assert.deepEqual(terms.get("lamp"), [{ field: 0, idf: 2.25, documents: [0, 3], frequencies: [1, 2], lengths: [7, 9] }]);
  assert.deepEqual(terms.get("lamps").map(({ field, documents, lengths }) => [field, documents, lengths]), [[0, [1], []], [2, [1], []]]);
});

test("scores are BM25 with the boost of the field, ties in document order", () => {
  const ranking = new Ranking({
    documents: 4, kinds: ["Cause", "Symptom"], kind: packed(1, 0, 0, 0), fields: [[3, 2, 0.75]], levels: [1, 4],
    k1: 1.2, borders: ["f", "m"], cards: 8, words: words(),
  });
  const list = { field: 0, idf: 2, documents: [0, 1, 2, 3], frequencies: [1, 2, 2, 1], lengths: [0, 1, 1, 0] };
  // by hand: tf 2, length 4, average 2: 3 * 2 * 2 * 2.2 / (2 + 1.2 * (0.25 + 0.75 * 4 / 2)) = 26.4 / 4.1
  // tf 1, length 1: 3 * 2 * 2.2 / (1 + 1.2 * (0.25 + 0.75 / 2)) = 13.2 / 1.75
  const { scores, met } = ranking.score([{ lists: [list], weight: 1 }], () => true);
  const best = foremost(met, scores, 10);
  assert.deepEqual(best, [0, 3, 1, 2]);
  assert.ok(Math.abs(scores[best[0]] - 13.2 / 1.75) < 1e-12 && Math.abs(scores[best[2]] - 26.4 / 4.1) < 1e-12);
  assert.deepEqual([ranking.kind("symptom"), ranking.kind("nonsense")], [1, -1]);
  assert.deepEqual([["a", -1], ["f", 0], ["lamp", 0], ["m", 1], ["z", 1]].map(([t]) => ranking.shard(t)), [-1, 0, 0, 1, 1]);
});

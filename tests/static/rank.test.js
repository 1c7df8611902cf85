"use strict";
const { test } = require("node:test");
const assert = require("node:assert/strict");
const { Analysis, normalise, stem } = require("../../templates/static/words.js");
const { Ranking, foremost, placeIn, readTerms } = require("../../templates/static/rank.js");

/** Words of a base with one group of equals; what is left out is empty. */
function words(changes = {}) {
  const plain = { english: true, stems: false, joins: true, stops: "the of", same: [], splits: [], kin: [], equals: [] };
  return { ...plain, units: [["v", "v"], ["volts", "v"], ["%", "%"]], longest: 8, most: 3, ...changes };
}

/** The terms of a question. */
function termsOf(analysis, text) {
  return analysis.terms(analysis.units(analysis.atoms(analysis.found(text))));
}

/** Varints below 128 and letters as `kb/search/packed.py` writes bytes. */
function packed(...parts) {
  const codes = parts.flatMap((part) => (typeof part === "string" ? [...part].map((letter) => letter.charCodeAt(0)) : [part]));
  return String.fromCharCode(...codes.map((code) => code + 35 + (code > 56) + 34 * (code > 90)));
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
  const data = packed(0, 4, "lamp", 2 * 1, 2 * 2 + 1, 0, 7, 2 * 2 + 1, 2, 9, 4, 1, "s", 2 * 5, 2, 2, 2, 2);
  const terms = readTerms([[[1, 3.5], [2, 2.25]], [], data], [[0, 0, 0, 0, 0, 0, 0, 1, 0, 3], [], [0.5]], 1.2);
  assert.deepEqual([...terms.keys()], ["lamp", "lamps"]);
  // BM25 by hand, with K1 1.2 and spreads 1 and 3 at levels 7 and 9: idf 2.25 * 2.2 / (1 + 1) and * 2 * 2.2 / (2 + 3)
  const plain = (lists) => lists.map(({ field, documents, parts }) => [field, [...documents], [...parts].map((part) => +part.toFixed(12))]);
  assert.deepEqual(plain(terms.get("lamp").lists), [[0, [0, 3], [2.475, 1.98]]]);
  // spread 0 in field 0 and 0.5 in field 2, idf 3.5: all of K1 + 1, and 2.2 / 1.5 of it
  assert.deepEqual(plain(terms.get("lamps").lists), [[0, [1], [7.7]], [2, [1], [5.133333333333]]]);
});

test("scores are BM25 with the boost of the field, ties in document order", () => {
  const ranking = new Ranking({
    documents: 4, kinds: ["Cause", "Symptom"], fields: [[3, 2, 0.75]], levels: [1, 4],
    k1: 1.2, borders: ["f", "m"], apart: 0, cards: 8, words: words(),
  });
  const term = ranking.terms([[[4, 2]], [], packed(0, 1, "x", 2, 9, 0, 0, 1, 2, 1, 1, 2, 1, 0, 0)]).get("x");
  // by hand: tf 2, length 4, average 2: 3 * 2 * 2 * 2.2 / (2 + 1.2 * (0.25 + 0.75 * 4 / 2)) = 26.4 / 4.1
  // tf 1, length 1: 3 * 2 * 2.2 / (1 + 1.2 * (0.25 + 0.75 / 2)) = 13.2 / 1.75
  const { scores, met } = ranking.score([{ term, weight: 1 }], () => true);
  const best = foremost(met, scores, 10);
  assert.deepEqual(best, [0, 3, 1, 2]);
  assert.ok(Math.abs(scores[best[0]] - 13.2 / 1.75) < 1e-12 && Math.abs(scores[best[2]] - 26.4 / 4.1) < 1e-12);
  assert.deepEqual(["a", "f", "lamp", "m", "z"].map((term) => placeIn(["f", "m"], term)), [-1, 0, 0, 1, 1]);
});

test("a long list is read to its end only where that could change the best", () => {
  const ranking = new Ranking({
    documents: 9, kinds: [], fields: [[1, 1, 0]], levels: [1], k1: 1, borders: [], apart: 0, cards: 8, words: words(),
  });
  // spread 1: frequency 1 adds idf * 2 / 2. Of "x", in six documents, 0 and 4 are here (frequency 1, idf 1) and four
  // are in tail 5, each adding at most 0.5; "y" has document 2, and adds 0.25 or 3
  const x = () => ranking.terms([[[6, 1]], [0.5], packed(0, 1, "x", 2 + 1, 5, 6 * 2, 2, 0, 3 * 2)]).get("x");
  const y = (idf) => ranking.terms([[[1, idf]], [], packed(0, 1, "y", 2, 2, 2 * 2)]).get("y");
  const asked = (...terms) => terms.map((term) => ({ term, weight: 1 }));
  assert.deepEqual(ranking.missing(asked(x()), null, 2), []);
  assert.equal(ranking.missing(asked(x()), null, 3).length, 1); // a third is only there
  assert.deepEqual(ranking.missing(asked(x(), y(0.25)), null, 2), []); // at most 0.75
  assert.equal(ranking.missing(asked(x(), y(3)), null, 2).length, 1); // the best may have 0.5 more
  assert.equal(ranking.missing(asked(x()), (document) => document > 3, 2).length, 1); // one of those here doesn't pass
  const term = x();
  assert.equal(term.tail, 5);
  ranking.lengthen(term, packed(2, 0, 0, 2));
  assert.deepEqual([[...term.lists[0].documents], term.tail], [[0, 4, 1, 2, 3, 5], -1]);
  assert.deepEqual(ranking.missing(asked(term), null, 3), []);
});

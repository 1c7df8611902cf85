/**
 * Ranks the nodes of a base for a question: the scoring of `kb/search`, without a page.
 */
(function (root) {
  "use strict";

  /**
   * @typedef {{weight: number, shortest: number, sturdy: number, long: number, begun: number, ending: number, most: number,
   *   nearest: number}} Near
   * @typedef {{documents: number, kinds: string[], fields: [number, number, number][], levels: number[], k1: number,
   *   borders: string[], apart: number, cards: number, words: any, lexicon: number[], near: Near}} Boot
   * @typedef {{field: number, idf: number, measured: boolean, count: number, documents: Int32Array,
   *   parts: Float64Array}} Postings `parts` of scores, without boosts
   * @typedef {{lists: Postings[], tail: number, bound: number}} Term where `tail` isn't -1 it names a file of more
   *   documents, each of which gets at most `bound`
   * @typedef {{term: Term, weight: number}} Weighed
   * @typedef {((document: number) => boolean) | null} Passes null where all do
   */

  /** The bytes that letters stand for: see `kb/search/packed.py`. @param {string} text @returns {Uint8Array} */
  function bytes(text) {
    const data = new Uint8Array(text.length);
    for (let n = 0; n < data.length; n++) {
      const code = text.charCodeAt(n);
      data[n] = code - (code > 126 ? 70 : code > 92 ? 36 : 35);
    }
    return data;
  }

  /** Reads packed numbers and words in turn. */
  class Reader {
    /** @param {string} text packed */
    constructor(text) {
      this.data = bytes(text);
      this.at = 0;
      this.name = new Uint8Array(0);
      this.decoder = new TextDecoder();
    }

    more() {
      return this.at < this.data.length;
    }

    /** @returns {number} */
    number() {
      let value = 0;
      for (let shift = 0; ; shift += 7) {
        const byte = this.data[this.at++];
        value += (byte & 127) * 2 ** shift;
        if (byte < 128) return value;
      }
    }

    /** The next word, told by what it shares with the one before. @returns {string} */
    word() {
      const shared = this.name.slice(0, this.number());
      const rest = this.number();
      this.name = Uint8Array.of(...shared, ...this.data.slice(this.at, (this.at += rest)));
      return this.decoder.decode(this.name);
    }

    /** Numbers told by their gaps. @returns {number[]} */
    ascending() {
      const count = this.number();
      const numbers = [];
      for (let n = 0, before = -1; n < count; n++) numbers.push((before += 1 + this.number()));
      return numbers;
    }
  }

  /** What each of a field's frequencies and lengths adds to a score is Whoosh's BM25F, operation by operation.
   * @param {number} idf @param {number} tf @param {number} spread @param {number} k1 @returns {number} */
  function part(idf, tf, spread, k1) {
    return idf * ((tf * (k1 + 1)) / (tf + spread));
  }

  /** Reads documents of a list, with what each adds. @param {Reader} reader @param {number} count
   * @param {{field: number, idf: number, measured: boolean}} list @param {number[][]} spreads @param {number} k1 */
  function readDocuments(reader, count, { field, idf, measured }, spreads, k1) {
    const [documents, parts] = [new Int32Array(count), new Float64Array(count)];
    for (let n = 0, before = -1; n < count; n++) {
      const gap = reader.number();
      documents[n] = before += 1 + (gap >>> 1);
      const tf = gap & 1 ? reader.number() : 1;
      // where lengths don't count, the spread is the same for all
      parts[n] = part(idf, tf, spreads[field][measured ? reader.number() : 0], k1);
    }
    return { documents, parts };
  }

  /** Reads a shard of terms. @param {[[number, number][], number[], string]} shard @param {number[][]} spreads of each
   * field, by level of length @param {number} k1 @returns {Map<string, Term>} */
  function readTerms([idfs, bounds, text], spreads, k1) {
    const reader = new Reader(text);
    const idf = new Map(idfs);
    const terms = new Map();
    let longer = 0;
    const postings = (/** @type {number} */ field, /** @type {boolean} */ cut) => {
      const head = reader.number();
      const count = head >>> 1;
      const own = { field, idf: Number(idf.get(count)), measured: Boolean(head & 1) };
      return { ...own, count, ...readDocuments(reader, cut ? reader.number() : count, own, spreads, k1) };
    };
    while (reader.more()) {
      const term = reader.word();
      const head = reader.number();
      const cut = Boolean(head & 1);
      const tail = cut ? { tail: reader.number(), bound: bounds[longer++] } : { tail: -1, bound: 0 };
      const fields = [...(head >>> 1).toString(2)].reverse().flatMap((bit, field) => (bit === "1" ? [field] : []));
      terms.set(term, { lists: fields.map((field) => postings(field, cut)), ...tail });
    }
    return terms;
  }

  /** Reads the words of one length, with how many documents have each. @param {string} text @returns {Map<string, number>} */
  function readLexicon(text) {
    const reader = new Reader(text);
    const words = new Map();
    while (reader.more()) words.set(reader.word(), reader.number());
    return words;
  }

  /** Reads where terms stand. @param {string} text @returns {Map<string, Map<number, number[]>>} */
  function readPlaces(text) {
    const reader = new Reader(text);
    const terms = new Map();
    while (reader.more()) {
      const places = new Map();
      terms.set(reader.word(), places);
      const count = reader.number();
      for (let n = 0, before = -1; n < count; n++) {
        before += 1 + reader.number();
        places.set(before, reader.ascending());
      }
    }
    return terms;
  }

  /** Letters added, left out, changed or swapped with the next: optimal string alignment.
   * @param {string[]} one @param {string[]} other @returns {number} */
  function slips(one, other) {
    /** @type {number[]} */
    let older = [];
    /** @type {number[]} */
    let before = [];
    let row = Array.from({ length: other.length + 1 }, (_, n) => n);
    for (let i = 1; i <= one.length; i++) {
      [older, before, row] = [before, row, [i]];
      for (let j = 1; j <= other.length; j++) {
        const changed = before[j - 1] + (one[i - 1] === other[j - 1] ? 0 : 1);
        row[j] = Math.min(before[j] + 1, row[j - 1] + 1, changed);
        const swapped = i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1];
        if (swapped) row[j] = Math.min(row[j], older[j - 2] + 1);
      }
    }
    return row[other.length];
  }

  /** The place of the last border that isn't behind a word, or -1. @param {string[]} borders @param {string} word */
  function placeIn(borders, word) {
    let low = 0;
    let high = borders.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (borders[middle] <= word) low = middle + 1;
      else high = middle;
    }
    return low - 1;
  }

  /** In the order of code points, as Python compares. @param {string} a @param {string} b */
  function compared(a, b) {
    const [one, other] = [Array.from(a), Array.from(b)];
    const at = one.findIndex((letter, n) => letter !== other[n]);
    if (at < 0) return one.length - other.length;
    return at >= other.length ? 1 : Number(one[at].codePointAt(0)) - Number(other[at].codePointAt(0));
  }

  const NEARLY = 1e-8; // sums differ in their last bits

  class Ranking {
    /** @param {Boot} boot @param {[string, string][]} [stems] */
    constructor(boot, stems) {
      const words = root.Backprobe && root.Backprobe.words ? root.Backprobe.words : require("./words.js");
      this.boot = boot;
      /** @type {Map<number, Map<string, Term>>} */
      this.read = new Map();
      this.analysis = new words.Analysis(boot.words, stems);
      this.scores = new Float64Array(boot.documents);
      this.met = new Int32Array(boot.documents + 1);
      this.spreads = boot.fields.map(([, average, b]) => boot.levels.map((length) => boot.k1 * (1 - b + (b * length) / average)));
    }

    /** Lengths of words among which to look for one misspelt; none where it means itself.
     * @param {string} word @returns {number[]} */
    reach(word) {
      const letters = Array.from(word).length;
      if (letters < this.boot.near.shortest || !/^\p{L}+$/u.test(word)) return [];
      const most = letters > this.boot.near.long ? 2 : 1;
      const least = letters < this.boot.near.sturdy ? letters : letters - most;
      return this.boot.lexicon.filter((length) => length >= least && length <= letters + most);
    }

    /** The words that fewest slips turn into this one, the commonest first.
     * @param {string} word @param {Map<string, number>[]} lexicons @returns {string[]} */
    near(word, lexicons) {
      const letters = Array.from(word);
      const most = letters.length > this.boot.near.long ? 2 : 1;
      /** @type {[number, number, string][]} */
      const found = [];
      for (const words of lexicons) {
        for (const [other, count] of words) found.push([slips(letters, Array.from(other)), count, other]);
      }
      const least = found.reduce((best, [distance]) => Math.min(best, distance), most + 1);
      const tier = found.filter(([distance]) => distance === least && distance <= most);
      tier.sort((a, b) => b[1] - a[1] || compared(a[2], b[2]));
      return tier.slice(0, this.boot.near.nearest).map(([, , other]) => other);
    }

    /** The few words that are least unlike one that nothing is found for: half of its letters may differ.
     * @param {string} word @param {Map<string, number>[]} lexicons @returns {string[]} */
    nearest(word, lexicons) {
      const letters = Array.from(word);
      const all = lexicons.flatMap((words) => [...words.keys()]);
      const found = all.map((other) => /** @type {[number, string]} */ ([slips(letters, Array.from(other)), other]));
      const fit = found.filter(([distance]) => distance > 0 && distance <= letters.length / 2);
      return fit.sort((a, b) => a[0] - b[0] || compared(a[1], b[1])).slice(0, 3).map(([, other]) => other);
    }

    /** What a word half typed may be without the beginning of an ending. @param {string} begun @returns {string[]} */
    shorter(begun) {
      const letters = Array.from(begun);
      const { begun: least, ending } = this.boot.near;
      if (letters.length < least) return [];
      const cuts = Array.from({ length: ending }, (_, n) => n + 1).filter((cut) => letters.length - cut >= least);
      return cuts.map((cut) => letters.slice(0, -cut).join(""));
    }

    /** Terms that begin so, or that are this without the beginning of an ending; the commonest first.
     * @param {string} begun @param {Map<string, Term>[]} shards @returns {string[]} */
    completions(begun, shards) {
      const shorter = new Set(this.shorter(begun));
      const found = new Map();
      for (const shard of new Set(shards)) {
        for (const [term, { lists }] of shard) {
          const fits = shorter.has(term) || (term.startsWith(begun) && !/^[_~]/.test(term));
          if (fits) found.set(term, Math.max(...lists.map((list) => list.count)));
        }
      }
      const terms = [...found].sort((a, b) => b[1] - a[1] || compared(a[0], b[0]));
      return terms.slice(0, this.boot.near.most).map(([term]) => term);
    }

    /** Reads a shard of terms. @param {[[number, number][], number[], string]} shard @returns {Map<string, Term>} */
    terms(shard) {
      return readTerms(shard, this.spreads, this.boot.k1);
    }

    /** Puts the rest of its documents into a term that was cut. @param {Term} term @param {string} text packed */
    lengthen(term, text) {
      if (term.tail < 0) return; // another question was faster
      const reader = new Reader(text);
      for (const list of term.lists) {
        const rest = readDocuments(reader, list.count - list.documents.length, list, this.spreads, this.boot.k1);
        const [documents, parts] = [new Int32Array(list.count), new Float64Array(list.count)];
        documents.set(list.documents);
        documents.set(rest.documents, list.documents.length);
        parts.set(list.parts);
        parts.set(rest.parts, list.parts.length);
        Object.assign(list, { documents, parts });
      }
      term.tail = -1;
    }

    /** No term's weight is zero, so a score tells who was met. Gives how many were.
     * @param {Postings} list @param {number} weight @param {Float64Array} scores @param {Int32Array} met
     * @param {number} count of those met before @returns {number} */
    add({ field, documents, parts }, weight, scores, met, count) {
      const counts = this.boot.fields[field][0] * weight;
      for (let n = 0; n < documents.length; n++) {
        const document = documents[n];
        const before = scores[document];
        met[count] = document; // written over by the next one, unless it counts
        if (before === 0) count++;
        scores[document] = before + parts[n] * counts;
      }
      return count;
    }

    /** All documents that were met and pass, with everyone's score. To be read at once: the next call writes over them.
     * @param {Weighed[]} terms @param {Passes} passes @returns {{scores: Float64Array, met: Int32Array}} */
    score(terms, passes) {
      const scores = this.scores.fill(0);
      let count = 0;
      for (const { term, weight } of terms) for (const list of term.lists) count = this.add(list, weight, scores, this.met, count);
      const met = this.met.subarray(0, count);
      return { scores, met: passes ? met.filter(passes) : met };
    }

    /** The terms that were cut whose other documents could change which are the best, or their scores.
     * @param {Weighed[]} terms @param {Passes} passes @param {number} most @returns {Term[]} */
    missing(terms, passes, most) {
      const cut = terms.filter(({ term }) => term.tail >= 0).map(({ term, weight }) => (
        { term, adds: term.bound * weight, here: new Set(term.lists.flatMap((list) => [...list.documents])) }));
      if (!cut.length || !most) return [];
      const { scores, met } = this.score(terms, passes);
      const best = foremost(met, scores, most);
      const least = best.length < most ? 0 : scores[best[most - 1]] - NEARLY;
      const adding = (/** @type {{adds: number}[]} */ some) => some.reduce((sum, { adds }) => sum + adds, 0);
      const all = adding(cut);
      // a document that isn't met yet
      if (all >= least) return cut.map(({ term }) => term);
      const found = new Set();
      for (const document of met) {
        if (scores[document] + all < least) continue;
        const lacks = cut.filter(({ here }) => !here.has(document));
        if (scores[document] + adding(lacks) >= least) for (const { term } of lacks) found.add(term);
      }
      return [...found];
    }

    /** A hit as pages show it. @param {number} score @param {any[]} row */
    hit(score, [number, name, page, address, said, fits, minutes, test, word, own]) {
      const next = test && { name: test[0], minutes: test[1] };
      const kind = this.boot.kinds[number];
      return { kind, name, page, address, score, card: { said, fits, minutes, next, word, own: own || [] } };
    }
  }

  /** The documents in which a phrase stands, by where each of its terms does: `` is any word.
   * @param {string[]} phrase @param {Map<number, number[]>[]} places of each term @returns {Set<number>} */
  function standing(phrase, places) {
    const held = phrase.flatMap((term, at) => (term ? [{ at, places: places[at] || new Map() }] : []));
    const found = new Set();
    for (const [document, starts] of held[0].places) {
      const stands = (/** @type {number} */ start) =>
        held.every(({ at, places: others }) => (others.get(document) || []).includes(start - held[0].at + at));
      if (starts.some(stands)) found.add(document);
    }
    return found;
  }

  /** The `most` documents with the highest scores, in order, without sorting all the others; scores equal to a
   * billionth stand in document order.
   * @param {Int32Array | number[]} documents @param {Float64Array} scores @param {number} most @returns {number[]} */
  function foremost(documents, scores, most) {
    /** @type {[number[], number[]]} */
    const [grains, best] = [[], []];
    let least = most ? 0 : Infinity;
    for (let n = 0; n < documents.length; n++) {
      const document = documents[n];
      let grain = scores[document] * 1e9 + 0.5;
      if (grain < least) continue; // most documents end here
      grain = Math.floor(grain);
      let at = Math.min(best.length, most);
      while (at && (grains[at - 1] < grain || (grains[at - 1] === grain && best[at - 1] > document))) {
        grains[at] = grains[at - 1];
        best[at] = best[--at];
      }
      grains[at] = grain;
      best[at] = document;
      if (best.length >= most) least = grains[most - 1];
    }
    return best.slice(0, most);
  }

  const rank = { Ranking, bytes, readTerms, readLexicon, readPlaces, slips, placeIn, standing, foremost };
  root.Backprobe = Object.assign(root.Backprobe || {}, { rank });
  if (typeof module === "object" && module.exports) module.exports = rank;
})(/** @type {any} */ (globalThis));

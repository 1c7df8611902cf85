/**
 * Ranks the nodes of a base for a question: the scoring of `kb/search`, without a page.
 */
(function (root) {
  "use strict";

  /**
   * @typedef {{weight: number, shortest: number, long: number, begun: number, ending: number, most: number,
   *   nearest: number}} Near
   * @typedef {{documents: number, kinds: string[], kind: string, fields: [number, number, number][],
   *   levels: number[], k1: number, borders: string[], cards: number, words: any,
   *   lexicon: number[], near: Near}} Boot
   * @typedef {{field: number, idf: number, documents: number[], frequencies: number[], lengths: number[]}} Postings
   * @typedef {{lists: Postings[], weight: number}} Weighed
   */

  /** @param {string} text base64 @returns {Uint8Array} */
  function bytes(text) {
    return Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  }

  /** Reads packed numbers and words in turn. */
  class Reader {
    /** @param {string} text base64 */
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

  /** Reads a shard of terms. @param {[[number, number][], string]} shard @returns {Map<string, Postings[]>} */
  function readTerms([idfs, text]) {
    const reader = new Reader(text);
    const idf = new Map(idfs);
    const terms = new Map();
    const postings = (/** @type {number} */ field) => {
      /** @type {Postings} */
      const list = { field, idf: 0, documents: [], frequencies: [], lengths: [] };
      const head = reader.number();
      const count = head >>> 1;
      list.idf = Number(idf.get(count));
      for (let n = 0, before = -1; n < count; n++) {
        const gap = reader.number();
        list.documents.push((before += 1 + (gap >>> 1)));
        list.frequencies.push(gap & 1 ? reader.number() : 1);
        if (head & 1) list.lengths.push(reader.number());
      }
      return list;
    };
    while (reader.more()) {
      const term = reader.word();
      const mask = reader.number();
      const fields = [...mask.toString(2)].reverse().flatMap((bit, field) => (bit === "1" ? [field] : []));
      terms.set(term, fields.map(postings));
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

  class Ranking {
    /** @param {Boot} boot @param {[string, string][]} [stems] */
    constructor(boot, stems) {
      const words = root.Backprobe && root.Backprobe.words ? root.Backprobe.words : require("./words.js");
      this.boot = boot;
      this.analysis = new words.Analysis(boot.words, stems);
      this.kinds = bytes(boot.kind);
      this.spreads = boot.fields.map(([, average, b]) => boot.levels.map((length) => boot.k1 * (1 - b + (b * length) / average)));
    }

    /** The number of the shard that would hold a term, or -1. @param {string} term @returns {number} */
    shard(term) {
      return placeIn(this.boot.borders, term);
    }

    /** Lengths of words among which to look for one misspelt; none where it means itself.
     * @param {string} word @returns {number[]} */
    reach(word) {
      const letters = Array.from(word).length;
      if (letters < this.boot.near.shortest || !/^\p{L}+$/u.test(word)) return [];
      const most = letters > this.boot.near.long ? 2 : 1;
      return this.boot.lexicon.filter((length) => Math.abs(length - letters) <= most);
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

    /** The numbers of the shards whose terms may begin so. @param {string} begun @returns {number[]} */
    ahead(begun) {
      if (Array.from(begun).length < this.boot.near.begun) return [];
      const first = Math.max(this.shard(begun), 0);
      const last = this.shard(begun + "\uffff");
      return Array.from({ length: Math.max(last - first + 1, 0) }, (_, n) => first + n);
    }

    /** Terms that begin so, or that are this without the beginning of an ending; the commonest first.
     * @param {string} begun @param {Map<string, Postings[]>[]} shards @returns {string[]} */
    completions(begun, shards) {
      const shorter = new Set(this.shorter(begun));
      const found = new Map();
      for (const shard of new Set(shards)) {
        for (const [term, lists] of shard) {
          const fits = shorter.has(term) || (term.startsWith(begun) && !/^[_~]/.test(term));
          if (fits) found.set(term, Math.max(...lists.map((list) => list.documents.length)));
        }
      }
      const terms = [...found].sort((a, b) => b[1] - a[1] || compared(a[0], b[0]));
      return terms.slice(0, this.boot.near.most).map(([term]) => term);
    }

    /** Whoosh's BM25F, operation by operation. No term's weight is zero, so a score tells who was met.
     * @param {Postings} list @param {number} weight @param {Float64Array} scores @param {number[]} met */
    add({ field, idf, documents, frequencies, lengths }, weight, scores, met) {
      const { fields, k1 } = this.boot;
      const spread = this.spreads[field];
      const measured = lengths.length > 0; // where lengths don't count, the spread is the same for all
      const counts = fields[field][0] * weight;
      for (let n = 0; n < documents.length; n++) {
        const document = documents[n];
        const tf = frequencies[n];
        const before = scores[document];
        if (before === 0) met.push(document);
        scores[document] = before + idf * ((tf * (k1 + 1)) / (tf + spread[measured ? lengths[n] : 0])) * counts;
      }
    }

    /** All documents that were met and pass, with everyone's score; `passes` is null where all do.
     * @param {Weighed[]} terms @param {((document: number) => boolean) | null} passes
     * @returns {{scores: Float64Array, met: number[]}} */
    score(terms, passes) {
      const scores = new Float64Array(this.boot.documents);
      /** @type {number[]} */
      const met = [];
      for (const { lists, weight } of terms) for (const list of lists) this.add(list, weight, scores, met);
      return { scores, met: passes ? met.filter(passes) : met };
    }

    /** The number of a kind; -1 where there is none. @param {string} name @returns {number} */
    kind(name) {
      return this.boot.kinds.findIndex((kind) => kind.toLowerCase() === name.toLowerCase());
    }

    /** A hit as pages show it. @param {number} document @param {number} score @param {any[]} row */
    hit(document, score, [name, page, address, said, fits, minutes, test, word, own]) {
      const next = test && { name: test[0], minutes: test[1] };
      const kind = this.boot.kinds[this.kinds[document]];
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
   * @param {number[]} documents @param {Float64Array} scores @param {number} most @returns {number[]} */
  function foremost(documents, scores, most) {
    const grains = (/** @type {number} */ document) => Math.floor(scores[document] * 1e9 + 0.5);
    /** @type {[number, number][]} */
    const best = [];
    const goesBefore = (/** @type {[number, number]} */ one, /** @type {[number, number]} */ other) =>
      one[0] > other[0] || (one[0] === other[0] && one[1] < other[1]);
    for (const document of documents) {
      const grain = grains(document);
      // most documents end here, so nothing is made for them
      if (best.length >= most && (!most || grain < best[most - 1][0] || (grain === best[most - 1][0] && document > best[most - 1][1]))) continue;
      /** @type {[number, number]} */
      const entry = [grain, document];
      let low = 0;
      for (let high = best.length; low < high; ) {
        const middle = (low + high) >> 1;
        if (goesBefore(best[middle], entry)) low = middle + 1;
        else high = middle;
      }
      best.splice(low, 0, entry);
      if (best.length > most) best.pop();
    }
    return best.map(([, document]) => document);
  }

  const rank = { Ranking, readTerms, readLexicon, readPlaces, slips, placeIn, standing, foremost };
  root.Backprobe = Object.assign(root.Backprobe || {}, { rank });
  if (typeof module === "object" && module.exports) module.exports = rank;
})(/** @type {any} */ (globalThis));

/**
 * How a question becomes terms: the analysis of `kb/search`, without a page.
 */
(function (root) {
  "use strict";

  /**
   * @typedef {{english: boolean, stems: boolean, joins: boolean, stops: string, same: [string, string][],
   *   splits: [string, string][], kin: [string, string][], equals: [string, string][], units: [string, string][],
   *   longest: number, most: number}} Words
   * @typedef {{text: string, also: string[]}} Word
   * @typedef {{key: string, terms: string[]}} Atom
   */

  const WORD = "[^ .+%-]";
  const CHUNK = new RegExp(`${WORD}+(?:[.-]${WORD}+)*(?:\\.[+-](?!${WORD}))?|%`, "gu");
  const NUMBER = /^([0-9]+(?:\.[0-9]+)?)(.*)$/u;
  const POINT = /^[^ .+%0-9-]+[0-9][^ .+%-]*\.[^ .%]+$/u;
  const APOSTROPHES = /['’‘‛ʼ´`′＇]/gu;

  /** Lower case, compatible forms made one, all else than words and `.+%-` a space.
   * @param {string} text @param {boolean} joins @returns {string} */
  function normalise(text, joins) {
    return text
      .replace(APOSTROPHES, joins ? "" : " ")
      .normalize("NFKC")
      .toLowerCase()
      .replace(/[‐‑−]/gu, "-")
      .replace(/ς/gu, "σ")
      .replace(/\p{Cf}/gu, "")
      .replace(/[^\p{L}\p{N}\p{M}.+%-]/gu, " ");
  }

  class Analysis {
    /** @param {Words} words @param {[string, string][]} [stems] endings of a language other than English */
    constructor(words, stems) {
      this.words = words;
      this.measures = new Map(words.units);
      this.stops = new Set(words.stops.split(" "));
      this.same = new Map(words.same);
      this.stems = new Map(stems || []);
      this.kin = new Map(words.kin);
      this.splits = new Map(words.splits);
      this.equals = new Map(words.equals);
      this.sizes = Math.max(0, ...words.equals.map(([phrase]) => phrase.split(" ").length));
    }

    /** Terms of units, each once. @param {string[][]} units @returns {string[]} */
    terms(units) {
      return [...new Set(units.flat())].slice(0, this.words.most);
    }

    /** Neighbours, and the whole. @param {string[][]} units @returns {string[]} */
    runs(units) {
      const names = units.map((unit) => unit[0]);
      const runs = names.slice(1).map((name, before) => `~${names[before]}_${name}`);
      if (names.length > 2) runs.push(`~${names.join("_")}`);
      return [...new Set(runs)].slice(0, this.words.most);
    }

    /** The terms of each word or longest phrase with equals, in order, as far as they count.
     * @param {Atom[]} atoms @returns {string[][]} */
    units(atoms) {
      const found = [];
      const seen = new Set();
      for (let at = 0; at < atoms.length && seen.size < this.words.most; ) {
        const size = this.phrase(atoms, at);
        const terms = size ? this.equal(atoms, at, size).split(" ") : atoms[at].terms;
        if (terms.length) found.push(terms);
        terms.forEach((term) => seen.add(term));
        at += Math.max(size, 1);
      }
      return found;
    }

    /** How many words the longest phrase at a place has that has equals.
     * @param {Atom[]} atoms @param {number} at @returns {number} */
    phrase(atoms, at) {
      let size = Math.min(this.sizes, atoms.length - at);
      while (size && !this.equal(atoms, at, size)) size--;
      return size;
    }

    /** @param {Atom[]} atoms @param {number} at @param {number} size @returns {string} */
    equal(atoms, at, size) {
      const keys = atoms.slice(at, at + size).map((atom) => atom.key);
      return this.equals.get(keys.join(" ")) || "";
    }

    /** The pieces of a question. @param {string} text @returns {Word[]} */
    found(text) {
      const chunks = normalise(text, this.words.joins).match(CHUNK) || [];
      return this.measured(chunks.flatMap((chunk) => this.parts(chunk)));
    }

    /** The words that pieces stand for. @param {Word[]} found @returns {Atom[]} */
    atoms(found) {
      return found.flatMap((word) => this.split(word));
    }

    /** Who asks for a point of a circuit wants nothing else; part numbers answer by their parts too.
     * @param {string} chunk @returns {Word[]} */
    parts(chunk) {
      if (POINT.test(chunk)) return [{ text: this.short(chunk), also: [] }];
      if (/\.[+-]$/u.test(chunk)) {
        return [{ text: this.short(chunk.slice(0, -2)), also: [this.short(chunk)] }];
      }
      const pieces = chunk.split("-").flatMap((piece) => this.dotted(piece));
      const joined = chunk.includes("-") && !chunk.includes(".");
      if (joined) pieces[pieces.length - 1].also.push(this.short(chunk.replace(/-/gu, "")));
      return pieces;
    }

    /** @param {string} piece @returns {Word[]} */
    dotted(piece) {
      const number = NUMBER.exec(piece);
      const whole = !piece.includes(".") || (number && (!number[2] || this.measures.has(number[2])));
      const names = whole ? [piece] : piece.split(".");
      const found = names.map((name) => ({ text: this.short(name), also: /** @type {string[]} */ ([]) }));
      if (!whole) found[found.length - 1].also.push(this.short(piece));
      return found;
    }

    /** Join numbers with the units after them. @param {Word[]} found @returns {Word[]} */
    measured(found) {
      /** @type {Word[]} */
      const words = [];
      for (let at = 0; at < found.length; at++) {
        const word = found[at];
        const number = NUMBER.exec(word.text);
        const unit = number && this.measures.get(number[2]);
        const next = number && !number[2] && at + 1 < found.length && this.measures.get(found[at + 1].text);
        if (number && next) words.push({ text: number[1] + next, also: word.also.concat(found[++at].also) });
        else if (number && unit) words.push({ text: number[1] + unit, also: word.also });
        else if (word.text !== "%") words.push(word);
      }
      return words;
    }

    /** @param {Word} word @returns {Atom[]} */
    split(word) {
      const joined = this.splits.get(this.stem(word.text));
      const atoms = (joined === undefined ? [word.text] : joined.split(" ")).map((part) => this.atom(part));
      const also = word.also.map((text) => this.stem(text)).filter((stem) => !this.splits.has(stem));
      atoms[atoms.length - 1].terms.push(...also);
      return atoms;
    }

    /** @param {string} text @returns {Atom} */
    atom(text) {
      const word = this.same.has(text) ? String(this.same.get(text)) : text;
      const key = this.words.english ? singular(word) : this.stem(word);
      return { key, terms: this.stops.has(word) ? [] : [this.stem(word)] };
    }

    /** @param {string} word @returns {string} */
    stem(word) {
      if (!this.words.english) return this.stems.has(word) ? String(this.stems.get(word)) : word;
      const plain = /^[a-z]+$/.test(word) ? stem(word) : word;
      return this.kin.has(plain) ? String(this.kin.get(plain)) : plain;
    }

    /** @param {string} word @returns {string} */
    short(word) {
      const { longest } = this.words;
      return word.length > longest ? Array.from(word).slice(0, longest).join("") : word;
    }
  }

  /** @param {string} word @returns {string} */
  function singular(word) {
    return word.endsWith("ss") ? word : word.replace(/(es|s|e)$/u, "").replace(/y$/u, "i");
  }

  const IRREGULAR = new Map(
    ("skis:ski skies:sky dying:die lying:lie tying:tie idly:idl gently:gentl ugly:ugli early:earli only:onli " +
      "singly:singl sky:sky news:news howe:howe atlas:atlas cosmos:cosmos bias:bias andes:andes " +
      "inning:inning innings:inning outing:outing outings:outing canning:canning cannings:canning " +
      "herring:herring herrings:herring earring:earring earrings:earring proceed:proceed proceeds:proceed " +
      "proceeded:proceed proceeding:proceed exceed:exceed exceeds:exceed exceeded:exceed exceeding:exceed " +
      "succeed:succeed succeeds:succeed succeeded:succeed succeeding:succeed")
      .split(" ")
      .map((pair) => /** @type {[string, string]} */ (pair.split(":"))),
  );
  /** Suffix, letters cut, letters added, R2 where it is too short.
   * @typedef {[string, number, string, string?][]} Rules @type {Rules} */
  const STEP2 = [
    ["ization", 7, "ize"], ["ational", 7, "ate", "e"], ["fulness", 4, ""], ["ousness", 7, "ous"],
    ["iveness", 7, "ive", "e"], ["tional", 2, ""], ["biliti", 6, "ble"], ["lessli", 2, ""], ["entli", 2, ""],
    ["ation", 5, "ate", "e"], ["alism", 5, "al"], ["aliti", 5, "al"], ["ousli", 5, "ous"],
    ["iviti", 5, "ive", "e"], ["fulli", 2, ""], ["enci", 1, "e"], ["anci", 1, "e"], ["abli", 1, "e"],
    ["izer", 4, "ize"], ["ator", 4, "ate", "e"], ["alli", 4, "al"], ["bli", 3, "ble"], ["ogi", 1, ""],
    ["li", 2, ""],
  ];
  /** @type {Rules} */
  const STEP3 = [
    ["ational", 7, "ate"], ["tional", 2, ""], ["alize", 3, ""], ["icate", 5, "ic"], ["iciti", 5, "ic"],
    ["ative", 5, ""], ["ical", 4, "ic"], ["ness", 4, ""], ["ful", 3, ""],
  ];
  const STEP4 = "ement ance ence able ible ment ant ent ism ate iti ous ive ize ion al er ic".split(" ");

  /** A word in the making; R1 and R2 are the regions in which endings may go. */
  class Stem {
    /** @param {string} word lower case, of the letters a to z */
    constructor(word) {
      this.word = word.replace(/^y/, "Y").replace(/([aeiouy])y/g, "$1Y");
      const special = /^(?:gener|commun|arsen)/.exec(this.word);
      this.r1 = special ? this.word.slice(special[0].length) : region(this.word);
      this.r2 = region(this.r1);
    }

    /** @param {number} letters @param {string} [added] @param {string} [short] */
    cut(letters, added = "", short = "") {
      const keep = (/** @type {string} */ text) => text.slice(0, -letters) + added;
      this.word = keep(this.word);
      this.r1 = this.r1.length >= letters ? keep(this.r1) : "";
      this.r2 = this.r2.length >= letters ? keep(this.r2) : short;
    }

    /** The letter at a place counted from the end. @param {number} place @returns {string} */
    last(place) {
      return this.word.charAt(this.word.length - place);
    }

    plural() {
      const suffix = ending(this.word, ["sses", "ied", "ies", "us", "ss", "s"]);
      if (suffix === "sses") this.cut(2);
      else if (suffix === "ied" || suffix === "ies") this.cut(this.word.length > 4 ? 2 : 1);
      else if (suffix === "s" && /[aeiouy]/.test(this.word.slice(0, -2))) this.cut(1);
    }

    past() {
      const suffix = ending(this.word, ["eedly", "ingly", "edly", "eed", "ing", "ed"]);
      if (suffix.startsWith("eed")) {
        if (this.r1.endsWith(suffix)) this.cut(suffix.length, "ee");
      } else if (suffix && /[aeiouy]/.test(this.word.slice(0, -suffix.length))) {
        this.cut(suffix.length);
        this.mend();
      }
    }

    /** After `ed` or `ing`: `plated` wants its e back, `slipped` one p less. */
    mend() {
      if (/(?:at|bl|iz)$/.test(this.word)) {
        this.word += "e";
        this.r1 += "e";
        if (this.word.length > 5 || this.r1.length >= 3) this.r2 += "e";
      } else if (/(?:bb|dd|ff|gg|mm|nn|pp|rr|tt)$/.test(this.word)) {
        this.cut(1);
      } else if (this.r1 === "" && /[^aeiouy][aeiouy][^aeiouywxY]$|^[aeiouy][^aeiouy]$/.test(this.word)) {
        this.word += "e";
        if (this.r2) this.r2 += "e";
      }
    }

    /** @param {Rules} rules @param {(suffix: string) => boolean} fits */
    replace(rules, fits) {
      const rule = rules.find(([suffix]) => this.word.endsWith(suffix));
      if (rule && this.r1.endsWith(rule[0]) && fits(rule[0])) this.cut(rule[1], rule[2], rule[3]);
    }

    remove() {
      const suffix = ending(this.word, STEP4);
      if (!suffix || !this.r2.endsWith(suffix)) return;
      if (suffix !== "ion" || "st".includes(this.last(4))) this.cut(suffix.length);
    }

    finish() {
      const double = this.r2.endsWith("l") && this.last(2) === "l";
      const long = /(?:[aeiouywxY].|[^aeiouy]..|[aeiouy]...)$/.test(this.word) && this.word.length >= 4;
      if (double || this.r2.endsWith("e") || (this.r1.endsWith("e") && long)) this.word = this.word.slice(0, -1);
      return this.word.replace(/Y/g, "y");
    }
  }

  /** What follows the first vowel and a letter that is none. @param {string} text @returns {string} */
  function region(text) {
    const found = /[aeiouy][^aeiouy]/.exec(text);
    return found ? text.slice(found.index + 2) : "";
  }

  /** @param {string} word @param {string[]} suffixes @returns {string} */
  function ending(word, suffixes) {
    return suffixes.find((suffix) => word.endsWith(suffix)) || "";
  }

  /** The stem of an English word, as Whoosh's Snowball stemmer gives it.
   * @param {string} word @returns {string} */
  function stem(word) {
    if (IRREGULAR.has(word)) return String(IRREGULAR.get(word));
    const it = new Stem(word);
    it.plural();
    it.past();
    if (it.word.length > 2 && /[^aeiouy][yY]$/.test(it.word)) it.cut(1, "i");
    it.replace(STEP2, (s) => (s === "ogi" ? it.last(4) === "l" : s !== "li" || "cdeghkmnrt".includes(it.last(3))));
    it.replace(STEP3, (s) => s !== "ative" || it.r2.endsWith(s));
    it.remove();
    return it.finish();
  }

  const words = { Analysis, normalise, stem };
  root.Backprobe = Object.assign(root.Backprobe || {}, { words });
  if (typeof module === "object" && module.exports) module.exports = words;
})(/** @type {any} */ (globalThis));

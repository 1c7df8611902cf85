/**
 * Fetches the parts of the search index that a question needs, and answers it.
 *
 * The parts are scripts which call `Backprobe.take`: pages opened from a disk may load nothing else.
 */
(function (root) {
  "use strict";

  /**
   * @typedef {{said: string[], fits: string[], minutes: number | null, word: string,
   *   next: {name: string, minutes: number | null} | null, own: [string, number, string, number][]}} Card
   * @typedef {{kind: string, name: string, page: string, address: string, score: number, card: Card}} Hit
   * @typedef {{terms: [string, number][], exact: string[][], instead: [string, string][], near: string[]}} Asked
   * @typedef {{kind?: string | null, function?: string, vehicle?: string}} Keep
   * @typedef {{total: number, counts: Record<string, [string, number][]>}} Rest
   * @typedef {{hits: Hit[], documents: number[], asked: Asked, rest: () => Promise<Rest>}} Answer
   */

  const { rank } = root.Backprobe;
  const READ = { "lexicon-": rank.readLexicon, "places-": rank.readPlaces };
  const QUOTED = /["“”„«»]([^"“”„«»]*)["“”„«»]/gu;
  /** @type {Map<string, {stamp: string, data: any}>} */
  const taken = new Map();
  /** @type {Map<string, Promise<any>>} */
  const parts = new Map();

  /** Called by each part of the index. @param {string} name @param {string} stamp @param {any} data */
  function take(name, stamp, data) {
    taken.set(name, { stamp, data });
  }

  /** @param {string} name @returns {Promise<void>} */
  function fetchScript(name) {
    return new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = `${document.documentElement.dataset.root || ""}search/${name}.js`;
      script.onload = () => resolve();
      script.onerror = () => reject(new Error(`a part of the search index is missing: ${name}`));
      document.head.appendChild(script);
    });
  }

  /** The data of a part; one that fails may be asked for again. @param {string} name @returns {Promise<any>} */
  function part(name) {
    const known = parts.get(name);
    if (known) return known;
    const wanted = (taken.has(name) ? Promise.resolve() : fetchScript(name)).then(() => opened(name));
    parts.set(name, wanted);
    wanted.catch(() => {
      parts.delete(name);
      taken.delete(name);
    });
    return wanted;
  }

  /** @param {string} name */
  function opened(name) {
    const { stamp, data } = taken.get(name) || { stamp: "", data: null };
    const first = taken.get("boot");
    if (!first || stamp !== first.stamp) {
      throw new Error("the search index changed while this page was open: load the page again");
    }
    const read = Object.entries(READ).find(([start]) => name.startsWith(start));
    return read ? read[1](data) : data;
  }

  /** @returns {Promise<any>} */
  async function ranking() {
    const boot = await part("boot");
    return new rank.Ranking(boot, boot.words.stems ? await part("stems") : []);
  }

  /** @type {Promise<any> | null} */
  let ready = null;

  /** @returns {Promise<any>} */
  function start() {
    ready = ready || ranking();
    ready.catch(() => (ready = null));
    return ready;
  }

  const NOTHING = { lists: [], tail: -1, bound: 0 };

  /** What the index has of terms, those of the same shard at once. @param {any} it @param {string[]} terms @returns {Promise<any[]>} */
  async function postings(it, terms) {
    const held = await Promise.all(terms.map((term) => shardOf(it, term)));
    const shards = await Promise.all(held.map((n) => (n < 0 ? new Map() : shard(it, n))));
    return terms.map((term, n) => shards[n].get(term) || NOTHING);
  }

  /** The number of the shard that would hold a term, or -1. @param {any} it @param {string} term @returns {Promise<number>} */
  async function shardOf(it, term) {
    const { borders, apart } = it.boot;
    const place = rank.placeIn(borders, term);
    return place < 0 || !apart ? place : place * apart + rank.placeIn(await part(`borders-${place}`), term);
  }

  /** A shard of terms, read once. @param {any} it @param {number} n @returns {Promise<Map<string, any>>} */
  async function shard(it, n) {
    const data = await part(`terms-${n}`);
    if (!it.read.has(n)) it.read.set(n, it.terms(data));
    return it.read.get(n);
  }

  /** Take a question apart; words that the index doesn't have are looked for among those that it has.
   * @param {any} it @param {string} text @param {boolean} typing @returns {Promise<Asked>} */
  async function understand(it, text, typing) {
    const { analysis } = it;
    const { most } = analysis.words;
    const words = analysis.found(text).slice(0, most);
    const begun = typing && /[\p{L}\p{N}]$/u.test(text) ? words.length - 1 : -1;
    await ahead(it, begun < 0 ? words : words.slice(0, begun), words);
    /** @type {Asked} */
    const asked = { terms: [], exact: exact(analysis, text), instead: [], near: [] };
    /** @type {string[]} */
    const extra = [];
    for (const [at, word] of words.entries()) {
      if (await known(it, word)) continue;
      const plain = /^\p{L}+$/u.test(word.text) && !word.also.length; // numbers, pins and part numbers mean themselves
      const meant = at === begun && plain ? await completions(it, word.text) : [];
      if (meant.length) {
        extra.push(...meant);
        continue;
      }
      const reach = plain ? it.reach(word.text) : [];
      const near = it.near(word.text, await Promise.all(reach.map((/** @type {number} */ n) => part(`lexicon-${n}`))));
      const told = near.length || at !== begun || (plain && Array.from(word.text).length >= it.boot.near.shortest);
      if (told && !asked.instead.some(([other]) => other === word.text)) asked.instead.push([word.text, near[0] || ""]);
      if (!near.length) continue;
      words[at] = { text: near[0], also: [] };
      for (const other of near.slice(1)) extra.push(...analysis.atoms([{ text: other, also: [] }]).flatMap((/** @type {any} */ atom) => atom.terms));
    }
    const units = analysis.units(analysis.atoms(words));
    const sure = [...analysis.terms(units), ...analysis.runs(units)];
    const weights = new Map(sure.map((term) => [term, 1]));
    for (const term of extra.slice(0, most)) if (!weights.has(term)) weights.set(term, it.boot.near.weight);
    asked.terms = [...weights];
    return asked;
  }

  /** Asks for the shards of all words at once, and of neighbours that are whole: looked at one after the other, each
   * would wait for the one before. @param {any} it @param {any[]} whole @param {any[]} words */
  async function ahead(it, whole, words) {
    const { analysis } = it;
    const units = analysis.units(analysis.atoms(whole));
    const single = words.flatMap((word) => analysis.atoms([word]).flatMap((/** @type {any} */ atom) => atom.terms));
    await postings(it, [...new Set([...single, ...analysis.terms(units), ...analysis.runs(units)])]);
  }

  /** @param {any} it @param {any} word @returns {Promise<boolean>} */
  async function known(it, word) {
    const terms = it.analysis.atoms([word]).flatMap((/** @type {any} */ atom) => atom.terms);
    return !terms.length || (await postings(it, terms)).some(({ lists }) => lists.length > 0);
  }

  /** @param {any} it @param {string} begun @returns {Promise<string[]>} */
  async function completions(it, begun) {
    const shorter = await Promise.all(it.shorter(begun).map((/** @type {string} */ term) => shardOf(it, term)));
    const wanted = [...new Set([...(await shardsFrom(it, begun)), ...shorter])].filter((n) => n >= 0);
    return it.completions(begun, await Promise.all(wanted.map((n) => shard(it, n))));
  }

  /** The numbers of the shards whose terms may begin so. @param {any} it @param {string} begun @returns {Promise<number[]>} */
  async function shardsFrom(it, begun) {
    if (Array.from(begun).length < it.boot.near.begun) return [];
    const [first, last] = await Promise.all([shardOf(it, begun), shardOf(it, `${begun}\uffff`)]);
    const from = Math.max(first, 0);
    return Array.from({ length: Math.max(last - from + 1, 0) }, (_, n) => from + n);
  }

  /** The phrases in quotes that hold a word to look for. @param {any} analysis @param {string} text @returns {string[][]} */
  function exact(analysis, text) {
    const phrases = [...text.matchAll(QUOTED)].map(([, quoted]) => analysis.atoms(analysis.found(quoted)));
    const places = phrases.map((atoms) => atoms.slice(0, analysis.words.most).map((/** @type {any} */ a) => a.terms[0] || ""));
    const meant = places.filter((terms) => terms.some(Boolean));
    return meant.map((terms) => terms.slice(terms.findIndex(Boolean), terms.findLastIndex(Boolean) + 1));
  }

  /** The documents in which all quoted phrases stand; null where nothing is quoted.
   * @param {string[][]} phrases @returns {Promise<Set<number>[]>} */
  async function standing(phrases) {
    if (!phrases.length) return [];
    const borders = await part("places");
    const places = async (/** @type {string} */ term) => {
      const at = term ? rank.placeIn(borders, term) : -1;
      return at < 0 ? new Map() : (await part(`places-${at}`)).get(term) || new Map();
    };
    return Promise.all(phrases.map(async (phrase) => rank.standing(phrase, await Promise.all(phrase.map(places)))));
  }

  /** A question taken apart, with all that scoring it needs.
   * @param {any} it @param {string} query @param {boolean} typing */
  async function prepared(it, query, typing) {
    const asked = await understand(it, query, typing);
    const held = await postings(it, asked.terms.map(([term]) => term));
    const stands = await standing(asked.exact);
    return { asked, terms: asked.terms.map(([, weight], n) => ({ term: held[n], weight })), stands };
  }

  /** @param {any} it @param {any[]} terms whose other documents are wanted */
  async function lengthen(it, terms) {
    const tails = await Promise.all(terms.map((term) => part(`tails-${term.tail}`)));
    terms.forEach((term, n) => it.lengthen(term, tails[n]));
  }

  /** The numbers of the best, with their scores. Terms that were cut are read to their ends only where that counts.
   * @param {any} it @param {any[]} terms @param {(document: number) => boolean} passes @param {number} most
   * @returns {Promise<[number, number][]>} */
  async function foremost(it, terms, passes, most) {
    for (let cut = it.missing(terms, passes, most); cut.length; cut = it.missing(terms, passes, most)) await lengthen(it, cut);
    const { scores, met } = it.score(terms, passes);
    return rank.foremost(met, scores, most).map((/** @type {number} */ document) => [document, scores[document]]);
  }

  /** The nodes that answer a question, best first.
   * @param {string} query @param {{kind?: string | null, most?: number, typing?: boolean}} [options]
   * @returns {Promise<Hit[]>} */
  async function find(query, { kind, most = 10, typing = false } = {}) {
    return (await search(query, { keep: { kind }, most, typing })).hits;
  }

  /** The same with what a page of hits tells later, by `rest`: how many there are, of which kinds, functions and
   * vehicles. So the first hits wait for nothing that only counts.
   * @param {string} query @param {{keep?: Keep, most?: number, typing?: boolean}} [options] @returns {Promise<Answer>} */
  async function search(query, { keep = {}, most = 10, typing = false } = {}) {
    const it = await start();
    const narrowed = Object.values(keep).some(Boolean);
    const [{ asked, terms, stands }, all] = await Promise.all([prepared(it, query, typing), narrowed ? sides(it, keep) : []]);
    const quoted = (/** @type {number} */ document) => stands.every((held) => held.has(document));
    const fits = (/** @type {number} */ document) => all.every((side) => side.passes(document));
    const both = (/** @type {number} */ document) => quoted(document) && fits(document);
    const best = await foremost(it, terms, narrowed ? both : stands.length ? quoted : null, most);
    const hits = await Promise.all(best.map(([document, score]) => show(it, document, score)));
    return { hits, documents: best.map(([document]) => document), asked, rest: () => rest(it, terms, quoted, keep) };
  }

  /** All that answer, counted. @param {any} it @param {any[]} terms @param {(document: number) => boolean} quoted
   * @param {Keep} keep @returns {Promise<Rest>} */
  async function rest(it, terms, quoted, keep) {
    const cut = terms.map(({ term }) => term).filter((term) => term.tail >= 0);
    const [all] = await Promise.all([sides(it, keep), lengthen(it, cut)]);
    const { met } = it.score(terms, quoted);
    const total = met.filter((/** @type {number} */ document) => all.every((side) => side.passes(document))).length;
    return { total, counts: Object.fromEntries(all.map((side) => [side.name, side.count(met, all)])) };
  }

  /** What hits are narrowed by. @param {any} it @param {Keep} keep @returns {Promise<any[]>} */
  async function sides(it, keep) {
    const { kind, ...read } = await part("sides");
    const kinds = rank.bytes(kind);
    const alone = { names: it.boot.kinds, of: (/** @type {number} */ n) => [kinds[n]], free: () => false };
    const listed = Object.entries(read).map(([name, [names, sets, row]]) => {
      const all = names.map((/** @type {string} */ _, /** @type {number} */ n) => n);
      const open = name === "vehicle";
      const free = (/** @type {number} */ n) => open && !sets[row[n]].length;
      return [name, { names, of: (/** @type {number} */ n) => (free(n) ? all : sets[row[n]]), free }];
    });
    return [["kind", alone], ...listed].map(([name, { names, of, free }]) => side(name, names, of, free, keep));
  }

  /**
   * What is for no vehicle in particular (`free`) is for each, also for one that the index has no name of.
   * @param {string} name @param {string[]} names @param {(document: number) => number[]} of
   * @param {(document: number) => boolean} free @param {any} keep
   */
  function side(name, names, of, free, keep) {
    const wanted = keep[name] ? names.findIndex((one) => one.toLowerCase() === keep[name].toLowerCase()) : -1;
    const passes = (/** @type {number} */ document) => !keep[name] || free(document) || of(document).includes(wanted);
    const count = (/** @type {number[]} */ met, /** @type {any[]} */ all) => {
      const others = all.filter((other) => other.name !== name);
      const counts = names.map(() => 0);
      for (const document of met) {
        if (others.every((other) => other.passes(document))) for (const n of of(document)) counts[n]++;
      }
      return names.map((label, n) => [label, counts[n]]).filter(([, n]) => n);
    };
    return { name, passes, count };
  }

  /** @param {any} it @param {number} document @param {number} score @returns {Promise<Hit>} */
  async function show(it, document, score) {
    const size = it.boot.cards;
    const cards = await part(`cards-${Math.floor(document / size)}`);
    return it.hit(score, cards[document % size]);
  }

  /** The text of a document, to show words in it. @param {number} document @returns {Promise<string[]>} */
  async function lines(document) {
    const { cards } = (await start()).boot;
    return (await part(`lines-${Math.floor(document / cards)}`))[document % cards];
  }

  /** Tells which words of a text were asked for. @param {Asked} asked @returns {Promise<(word: string) => boolean>} */
  async function marker(asked) {
    const { analysis } = await start();
    const terms = new Set(asked.terms.map(([term]) => term));
    for (const phrase of analysis.words.equals) {
      // of "not working" neither word by itself says that something is dead
      const single = !phrase[0].includes(" ");
      if (single && phrase[1].split(" ").some((/** @type {string} */ name) => terms.has(name))) terms.add(`=${phrase[0]}`);
    }
    const meant = (/** @type {string} */ word) =>
      analysis.atoms(analysis.found(word)).some((/** @type {any} */ atom) => atom.terms.some((/** @type {string} */ t) => terms.has(t)) || (atom.terms.length && terms.has(`=${atom.key}`)));
    /** @type {Map<string, boolean>} */
    const known = new Map(); // rows ask for the same words again and again
    return (word) => {
      const held = known.get(word);
      if (held !== undefined) return held;
      const found = Boolean(meant(word));
      known.set(word, found);
      return found;
    };
  }

  /** Words like those of a question that the index has nothing for. @param {string} query @returns {Promise<string[]>} */
  async function nearest(query) {
    const it = await start();
    const words = [...new Set(it.analysis.found(query).map((/** @type {any} */ word) => word.text))].slice(0, 4);
    const near = words.map(async (word) => {
      const letters = Array.from(String(word)).length;
      const lengths = it.boot.lexicon.filter((/** @type {number} */ n) => Math.abs(n - letters) <= 3);
      const lexicons = await Promise.all(lengths.map((/** @type {number} */ n) => part(`lexicon-${n}`)));
      return it.nearest(word, lexicons);
    });
    return [...new Set((await Promise.all(near)).flat())];
  }

  Object.assign(root.Backprobe, { take, find, search, lines, marker, nearest });
})(/** @type {any} */ (globalThis));

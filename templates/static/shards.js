/**
 * Fetches the parts of the search index that a question needs, and answers it.
 *
 * The parts are scripts which call `Backprobe.take`: pages opened from a disk may load nothing else.
 */
(function (root) {
  "use strict";

  /**
   * @typedef {{said: string[], fits: string[], minutes: number | null,
   *   next: {name: string, minutes: number | null} | null, word: string}} Card
   * @typedef {{kind: string, name: string, page: string, address: string, score: number, card: Card}} Hit
   */

  const { rank } = root.Backprobe;
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
    if (first && stamp === first.stamp) return name.startsWith("terms-") ? rank.readTerms(data) : data;
    throw new Error("the search index changed while this page was open: load the page again");
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

  /** The nodes that answer a question, best first.
   * @param {string} query @param {{kind?: string, most?: number}} [options] @returns {Promise<Hit[]>} */
  async function find(query, { kind, most = 10 } = {}) {
    const ranking = await start();
    const terms = [...ranking.analysis.terms(query), ...ranking.analysis.runs(query)];
    const held = terms.map((/** @type {string} */ term) => ranking.shard(term));
    const shards = await Promise.all(held.map((/** @type {number} */ n) => (n < 0 ? new Map() : part(`terms-${n}`))));
    const lists = terms.flatMap((/** @type {string} */ term, /** @type {number} */ n) => shards[n].get(term) || []);
    return Promise.all(ranking.best(lists, kind, most).map((/** @type {any} */ hit) => show(ranking, hit)));
  }

  /** @param {any} ranking @param {{document: number, score: number}} hit @returns {Promise<Hit>} */
  async function show(ranking, hit) {
    const size = ranking.boot.cards;
    const cards = await part(`cards-${Math.floor(hit.document / size)}`);
    return ranking.hit(hit, cards[hit.document % size]);
  }

  /** The words of a question that are looked up: those that the index passes over are left out.
   * @param {string} query @returns {Promise<string[]>} */
  async function asked(query) {
    const { analysis } = await start();
    return (query.toLowerCase().match(/[\p{L}\p{N}.]+/gu) || []).filter((word) => !analysis.stops.has(word));
  }

  Object.assign(root.Backprobe, { take, find, asked });
})(/** @type {any} */ (globalThis));

/**
 * Where a walk along a symptom's plan stands, and what is next: what follows from findings. No page is touched here.
 */
(function (root) {
  "use strict";
  const Backprobe = (root.Backprobe = root.Backprobe || {});

  /**
   * @typedef {{kind: "t" | "r", id: number, row: number}} Event a test or repair by its place in the page's
   *   lists, and the row found (-1: couldn't be read; a repair: 0 fixed, 1 not fixed)
   * @typedef {{kind: "t" | "r", number: number, seconds: number, togo: number}} Step
   */

  /** What a matrix says of its tests and repairs, by number; a list that begins with -1 is all but these. */
  function rows(matrix) {
    const every = [...matrix.weights.keys()];
    const causes = (list) => (list[0] < 0 ? every.filter((cause) => !list.includes(cause, 1)) : list);
    const tests = matrix.tests.map(([seconds, needs, lists]) => ({ seconds, needs, leaves: lists.map(causes) }));
    const plans = new Map();
    const parts = (test, { left, done, unread }) =>
      !done.includes(test) && !unread.includes(test) && tests[test].leaves.some((list) => left.some((c) => list.includes(c)) && left.some((c) => !list.includes(c)));
    const repairs = matrix.repairs.map(([seconds, needs, list, tried]) => ({ seconds, needs, mends: causes(list), tried }));
    return {
      seconds: (test) => tests[test].seconds,
      needs: (test) => tests[test].needs,
      leaves: (test, row) => tests[test].leaves[row] || [],
      repairSeconds: (repair) => repairs[repair].seconds,
      repairNeeds: (repair) => repairs[repair].needs,
      mends: (repair) => repairs[repair].mends,
      tries: (repair) => Boolean(repairs[repair].tried),
      /** Each cause's share of what is left; after a test it survived with k findings it has 1/k of its weight. */
      shares(left, done) {
        const survived = (test, cause) => tests[test].leaves.filter((list) => list.includes(cause)).length || 1;
        const weights = left.map((cause) => done.reduce((sum, test) => sum / survived(test, cause), matrix.weights[cause]));
        const whole = weights.reduce((sum, weight) => sum + weight, 0) || 1;
        return new Map(left.map((cause, i) => [cause, weights[i] / whole]));
      },
      /** Worked out once for each place. */
      plan(place) {
        const key = JSON.stringify(place);
        if (!plans.has(key)) plans.set(key, new Backprobe.isolate.Hunt(matrix).plan(place));
        return plans.get(key);
      },
      /** Whether a plan from here on is seen to take a while: many tests for many causes, and not known yet. */
      slow: (place) => !plans.has(JSON.stringify(place)) && place.left.length * tests.filter((_, t) => parts(t, place)).length >= 60,
    };
  }

  /** Where a walk stands. Causes, tests and repairs are numbers of the vehicle's own matrix. */
  function stand(data, way, hunt, events) {
    const at = { left: new Set(way.causes.keys()), paid: new Set(), done: new Set(), unread: new Set(), seconds: 0,
      cleared: new Map(), log: [], step: 0, before: Infinity, clash: null, found: new Set(), fixed: -1, most: [-1, -1] }; // prettier-ignore
    for (const event of events) (event.kind === "t" ? test : repair)(data, way, hunt, at, event);
    return at;
  }

  function pay(way, at, needs, seconds) {
    for (const access of needs) {
      if (!at.paid.has(access)) seconds += way.matrix.access[access];
      at.paid.add(access);
    }
    at.seconds += seconds;
    return seconds;
  }

  function follow(way, at, kind, number, row) {
    const step = at.step >= 0 ? way.plan.steps[at.step] : null;
    const mine = step && step[0] === (kind === "t" ? 0 : 1) && step[1] === number;
    at.before = mine ? step[4] : Infinity; // expected seconds until fixed, before it
    at.step = mine && row >= 0 ? step[3][row] : -1;
    if (mine && row >= 0 && at.step < 0) at.step = -2; // the plan ends here
  }

  function test(data, way, hunt, at, event) {
    const number = way.tests.indexOf(event.id);
    if (number < 0 || at.clash || at.done.has(number)) {
      at.log.push({ event, seconds: 0, other: number < 0 });
      return;
    }
    const seconds = pay(way, at, hunt.needs(number), hunt.seconds(number));
    const entry = { event, seconds, cleared: [] };
    at.log.push(entry);
    if (event.row < 0) {
      at.unread.add(number);
      follow(way, at, "t", number, -1);
      return;
    }
    const kept = new Set(hunt.leaves(number, event.row).filter((cause) => at.left.has(cause)));
    if (!kept.size) {
      at.clash = event;
      return;
    }
    entry.cleared = [...at.left].filter((cause) => !kept.has(cause));
    for (const cause of entry.cleared) at.cleared.set(cause, event);
    const clears = way.matrix.weights.reduce((sum, weight, cause) => sum + (hunt.leaves(number, event.row).includes(cause) ? 0 : weight), 0);
    if (clears > at.most[0]) at.most = [clears, event.id];
    at.left = kept;
    at.done.add(number);
    at.unread.delete(number);
    for (const cause of data.proves[`${event.id} ${event.row}`] || []) {
      const own = way.causes.indexOf(cause);
      if (own >= 0) at.found.add(own);
    }
    follow(way, at, "t", number, event.row);
  }

  function repair(data, way, hunt, at, event) {
    const number = way.repairs.indexOf(event.id);
    if (number < 0) {
      at.log.push({ event, seconds: 0, other: true });
      return;
    }
    const seconds = pay(way, at, hunt.repairNeeds(number), hunt.repairSeconds(number));
    const mended = hunt.mends(number).filter((cause) => at.left.has(cause));
    at.log.push({ event, seconds, cleared: event.row ? mended : [] });
    if (event.row === 0) {
      at.fixed = number;
      for (const cause of at.left) if (!mended.includes(cause)) at.cleared.set(cause, event);
      at.left = at.found = new Set(mended);
    } else {
      for (const cause of mended) {
        at.left.delete(cause);
        at.cleared.set(cause, event);
      }
    }
    follow(way, at, "r", number, event.row);
  }

  /** Where a walk that left the plan stands, for the planner. */
  function off(at) {
    return { left: [...at.left], paid: [...at.paid], done: [...at.done], unread: [...at.unread] };
  }

  /** Whether the next step has to be worked out first, and that takes a while. */
  function slow(hunt, at) {
    return at.step === -1 && !at.clash && at.fixed < 0 && at.left.size > 0 && hunt.slow(off(at));
  }

  /** The next step: the plan's, or where the walk left it, one worked out now. @returns {Step | null} */
  function next(way, hunt, at) {
    if (at.clash || at.fixed >= 0 || !at.left.size || at.step === -2) return null;
    if (at.step >= 0) {
      const [kind, number, seconds, , togo] = way.plan.steps[at.step];
      return { kind: kind ? "r" : "t", number, seconds, togo };
    }
    const plan = hunt.plan(off(at));
    if (!plan.first) return null;
    return { kind: plan.first.kind === "repair" ? "r" : "t", number: plan.first.number, seconds: plan.first.seconds, togo: plan.seconds };
  }

  /** @param {string[]} tests names for the address of each test, @param {string[]} repairs */
  function written(events, tests, repairs) {
    const row = (event) => (event.row < 0 ? "u" : String(event.row));
    return events.map((event) => `${(event.kind === "t" ? tests : repairs)[event.id]}~${row(event)}`).join(".");
  }

  /** @returns {{events: Event[], lost: string[]}} what an address says, and names that the page doesn't know */
  function read(text, tests, repairs) {
    const events = [];
    const lost = [];
    for (const part of text.split(".").filter(Boolean)) {
      const [name, row] = part.split("~");
      const kind = tests.includes(name) ? "t" : "r";
      const id = (kind === "t" ? tests : repairs).indexOf(name);
      if (id < 0 || !/^(u|\d{1,3})$/.test(row || "")) lost.push(name);
      else events.push({ kind, id, row: row === "u" ? -1 : Number(row) });
    }
    return { events, lost };
  }

  /** A line of a CSV file (RFC 4180). @param {string[]} cells */
  function csv(cells) {
    return cells.map((cell) => (/[",\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell)).join(",");
  }

  Backprobe.walk = { rows, stand, off, slow, next, written, read, csv };
})(typeof window === "undefined" ? globalThis : window);

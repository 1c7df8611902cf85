/**
 * Plans a fault hunt from where it stands, by the algorithm of `kb/isolation`: the same budget, order and
 * ties, so the same plan. It knows no page.
 */
(function (root) {
  "use strict";

  /**
   * @typedef {{weights: number[], tests: [number, number[], number[][], number[]][],
   *   repairs: [number, number[], number[], number][], access: number[], budget: number}} Data
   * @typedef {{left?: number[], paid?: number[], done?: number[], unread?: number[]}} Place causes left (all
   *   where left out), accesses paid, tests done, tests that gave no finding
   * @typedef {{kind: "test" | "repair", number: number, seconds: number}} Act seconds with unpaid access
   * @typedef {number | bigint} Value weight x seconds: a BigInt where it may pass 2 ** 53
   * @typedef {{left: number[], share: number, weight: Value, then: () => Step | null}} Lead
   * @typedef {Act & {whole: Value, leads: Lead[]}} Step leads by finding; of a repair: fixed, not fixed
   * @typedef {{seconds: number, proved: boolean, gap: number, exact: Value[], first: Step | null}} Plan
   *   `exact`: value, bound, and what both are divided by
   */

  /** Keeps what a function of one or two arguments gave. */
  function memo(work) {
    const known = new Map();
    return (a, b) => {
      let row = known.get(a);
      if (!row) known.set(a, (row = new Map()));
      let found = row.get(b);
      if (found === undefined) row.set(b, (found = work(a, b)));
      return found;
    };
  }

  function gcd(a, b) {
    while (b) [a, b] = [b, a % b];
    return a;
  }

  const add = (a, b) => a + b;
  const join = (a, b) => a | b;
  const least = (numbers) => (numbers.length ? Math.min(...numbers) : 0);

  /** Sets of numbers as bit masks: BigInts where a number has too few bits. */
  class Sets {
    constructor({ length }) {
      const type = length > 30 ? BigInt : Number;
      this.none = type(0);
      this.one = Array.from({ length }, (_, i) => type(1) << type(i));
      this.all = this.one.reduce(join, this.none);
      this.list = memo((mask) => this.where((i) => mask & this.one[i]));
    }

    where(good) {
      return [...this.one.keys()].filter(good);
    }

    /** A list's mask; -1 at its head means all but these. */
    mask(list = []) {
      return list[0] < 0 ? this.all & ~this.mask(list.slice(1)) : list.map((i) => this.one[i]).reduce(join, this.none);
    }
  }

  /** What can be done in a state. To isolate, repairs cost nothing and aren't done. */
  class Rules {
    constructor(data, isolate) {
      this.isolate = isolate;
      const causes = (this.causes = new Sets(data.weights));
      const numbers = (this.numbers = new Sets(data.tests));
      const access = (this.access = new Sets(data.access));
      this.tests = data.tests.map(([seconds, needs, lists, after], number) => {
        const leaves = lists.map((list) => causes.mask(list));
        const spread = causes.one.map((c) => leaves.filter((m) => m & c).length || 1);
        const overlap = causes.mask(causes.where((c) => spread[c] > 1));
        return { number, seconds, needs: access.mask(needs), leaves, spread, overlap, bit: numbers.one[number], after: numbers.mask(after) };
      });
      // A repair that doesn't help is a finding too.
      this.repairs = data.repairs.map(([seconds, needs, mends, tried], number) => {
        const leaves = [causes.all & ~causes.mask(mends)];
        const cost = isolate ? { seconds: 0, needs: access.none } : { seconds, needs: access.mask(needs), tried };
        return { repair: true, number, leaves, bit: numbers.none, ...cost };
      });
      this.scale(data);
      this.of = memo((mask) => numbers.list(mask).map((t) => this.tests[t]));
      this.unpaid = memo((missing) => access.list(missing).reduce((sum, i) => sum + data.access[i], 0));
      this.price = (row, paid) => row.seconds + this.unpaid(row.needs & ~paid);
      this.splitting = memo((left) =>
        numbers.mask(numbers.where((t) => this.tests[t].leaves.some((m) => m & left && left & ~m))));
      this.useful = memo((left, toDo) =>
        [...this.of(toDo), ...this.repairs.filter((r) => left & ~r.leaves[0])].reduce((m, r) => m | r.needs, access.none));
      /** Of the tests undone, those that split what is left and those that come before them. */
      this.toDo = memo((left, undone) => {
        let [found, before] = [this.splitting(left) & undone, numbers.none];
        while (before !== found) {
          before = found;
          found = this.of(found).reduce((m, t) => m | (t.after & undone), found);
        }
        return found;
      });
    }

    /** Makes weights whole for each way that findings overlap. */
    scale({ weights, access }) {
      const ways = weights.map((_, c) => this.tests.reduce((by, t) => by * BigInt(t.spread[c]), 1n));
      const scale = ways.reduce((a, b) => (a / gcd(a, b)) * b, 1n);
      const seconds = [...this.tests, ...this.repairs].map((row) => row.seconds).concat(access).reduce(add, 1);
      const most = scale * BigInt(weights.reduce(add, 0) * 2 * seconds);
      this.value = most < 2n ** 53n ? Number : BigInt;
      this.scaled = weights.map((weight) => this.value(BigInt(weight) * scale));
    }

    /** Least seconds first, then tests before repairs, then page order. A repair waits for its proof. */
    acts({ left, paid, toDo }) {
      const mended = (r) => !(left & r.leaves[0]);
      if (this.isolate && (!toDo || this.repairs.some(mended))) return [];
      const tests = this.of(toDo).filter((t) => !(t.after & toDo));
      const may = (r) => left & ~r.leaves[0] && (r.tried || !toDo || mended(r));
      return [...tests, ...(this.isolate ? [] : this.repairs.filter(may))]
        .map((row) => ({ row, seconds: this.price(row, paid) }))
        .sort((a, b) => a.seconds - b.seconds)
        .filter(this.undoubled(left, paid, toDo))
        .map((act, at) => ({ ...act, at }));
    }

    /** Of tests that part what is left alike, the cheapest that opens no more stays. */
    undoubled(left, paid, toDo) {
      const alone = this.splitting(left) & ~this.of(toDo).reduce((m, t) => m | t.after, this.numbers.none);
      const seen = {};
      return ({ row }) => {
        if (row.overlap & left || !(alone & row.bit)) return true;
        const parts = row.leaves.map((m) => m & left).filter((m) => m).sort().join();
        const others = (seen[parts] = seen[parts] || []);
        if (others.some((o) => !(o.needs & ~paid & ~row.needs) && o.seconds <= row.seconds)) return false;
        return others.push(row);
      };
    }
  }

  /** Seconds that each cause left costs at least, whatever is done. */
  class Bounds extends Rules {
    constructor(data, isolate) {
      super(data, isolate);
      const { causes, repairs } = this;
      const tellers = [...this.tests, ...repairs.filter((r) => r.tried).reverse()];
      this.tellers = tellers.sort((a, b) => a.seconds - b.seconds);
      const places = (this.places = new Sets(tellers));
      const mask = (good) => places.mask(places.where((p) => good(tellers[p])));
      this.tries = mask((t) => t.repair);
      this.opened = memo((toDo) => mask((t) => t.repair || toDo & t.bit));
      const cheapest = (of) => memo((some, paid) => least(places.list(some).map((p) => of(tellers[p], paid))));
      this.cheapest = cheapest(this.price);
      this.entry = cheapest((row, paid) => this.unpaid(row.needs & ~paid));
      this.pairs = causes.one.map((c) => causes.one.map((d) => this.pair(c, d)));
      this.mending = causes.one.map((c) => repairs.filter((r) => !(r.leaves[0] & c)));
      this.ends = memo((left, paid) => causes.list(left).map((c) => least(this.mending[c].map((r) => this.price(r, paid)))));
    }

    /** What tells a cause from another, and the least expected seconds until some of it has. */
    pair(cause, other) {
      const { tellers, places, tries } = this;
      const shares = tellers.map(({ leaves }) => {
        const met = leaves.filter((m) => m & cause);
        return met.filter((m) => !(m & other)).length / (met.length || 1);
      });
      const dear = (p) => tellers[p].seconds / shares[p];
      const order = places.where((p) => shares[p]).sort((p, q) => dear(p) - dear(q));
      const inTurn = (some) => {
        let [seconds, goingOn] = [0, 1];
        for (const p of order) {
          if (!(some & places.one[p])) continue;
          seconds += goingOn * tellers[p].seconds;
          goingOn *= 1 - shares[p];
        }
        return Math.floor(seconds + 1e-6);
      };
      return { tells: places.mask(order), expected: memo((some) => Math.min(inTurn(some), inTurn(some & ~tries))) };
    }

    seconds({ left, paid, toDo }) {
      const opened = this.opened(toDo);
      return this.causes.list(left).map((c) => this.cause(c, left, paid, opened));
    }

    /** The better of one repair's own way, and of the cheapest repair after what any of them needs. */
    cause(cause, left, paid, opened) {
      const { none, one } = this.causes;
      let [own, bare, way, common] = [Infinity, Infinity, Infinity, left & ~one[cause]];
      for (const repair of this.mending[cause]) {
        const others = repair.tried ? none : left & repair.leaves[0];
        const price = this.price(repair, paid);
        common &= others;
        own = Math.min(own, price);
        bare = Math.min(bare, repair.seconds);
        if (price < way) way = Math.min(way, price + this.telling(cause, others, paid | repair.needs, opened)[0]);
      }
      if (own === Infinity) {
        own = bare = way = 0;
        if (!this.isolate) common = none;
      }
      const [, dearest, sum] = this.telling(cause, common, paid, opened);
      return Math.max(way, own + sum, bare + dearest);
    }

    /** Seconds of telling a cause from others: of the dearest by its cheapest teller, as expected with access, of a sum without. */
    telling(cause, others, paid, opened) {
      let [cheapest, dearest, sum, used] = [0, 0, 0, this.places.none];
      for (const other of this.causes.list(others)) {
        const pair = this.pairs[cause][other];
        const some = pair.tells & opened;
        if (!(some & ~this.tries)) continue;
        const expected = pair.expected(some);
        cheapest = Math.max(cheapest, this.cheapest(some, paid));
        dearest = Math.max(dearest, expected + this.entry(some, paid));
        if (!(some & used)) sum += expected;
        if (!(some & used)) used |= some;
      }
      return [cheapest, dearest, sum];
    }
  }

  /** The least value from a state on, best first within the budget; beyond it, one step over a greedy hunt. */
  class Planner extends Bounds {
    /** @returns {Plan} */
    plan({ left, paid, toDo, times }, budget) {
      this.spots = new Map();
      this.budget = budget;
      const [spot] = this.meet(left, paid, toDo, times);
      if (!spot) return { seconds: 0, proved: true, gap: 0, exact: [0, 0, 1], first: null };
      this.bound(spot);
      while (!spot.settled && this.budget) this.pass(spot);
      const [worth, bound, whole] = [this.worth(spot), spot.bound, spot.whole];
      const seconds = (value) => Number(value) / Number(whole);
      return {
        seconds: seconds(worth), proved: spot.settled, gap: seconds(worth - bound), exact: [worth, bound, whole], first: this.step(spot),
      };
    }

    /** A state with only what can still matter, or null where no cause is left, and what its weights are divided by. */
    meet(left, paid, undone, times) {
      if (!left) return [null, this.value(1)];
      const toDo = this.toDo(left, undone);
      const by = times.reduce(gcd);
      if (by > 1) times = times.map((n) => n / by);
      paid &= this.useful(left, toDo);
      const key = `${left} ${paid} ${toDo} ${times}`;
      let spot = this.spots.get(key);
      if (!spot) {
        const weights = this.causes.list(left).map((c, i) => this.scaled[c] / times[i]);
        spot = { left, paid, toDo, times, weights, whole: weights.reduce(add) };
        this.spots.set(key, spot);
      }
      return [spot, by];
    }

    /** Where each finding leads to. */
    leads({ left, paid, toDo, times }, act) {
      if (act.leads) return act.leads;
      const { leaves, needs, bit, overlap, spread } = act.row;
      const list = this.causes.list(left);
      if (overlap & left) times = times.map((n, i) => n * this.value(spread[list[i]]));
      const kept = (mask) => times.filter((_, i) => mask & this.causes.one[list[i]]);
      return (act.leads = leaves.map((m) => this.meet(m & left, paid | needs, toDo & ~bit, kept(m))));
    }

    /** Weight x seconds of an act, and of what `worth` says of the states it leads to. */
    after(spot, act, worth) {
      return this.leads(spot, act).reduce(
        (sum, [below, by]) => (below ? sum + worth(below) / by : sum), spot.whole * this.value(act.seconds));
    }

    bound(spot) {
      if (spot.bound === undefined) {
        spot.seconds = this.seconds(spot);
        spot.bound = this.weigh(spot, spot.seconds);
      }
      return spot.bound;
    }

    weigh({ weights }, seconds) {
      return weights.reduce((sum, weight, i) => sum + weight * this.value(seconds[i]), this.value(0));
    }

    pass(spot) {
      if (spot.settled || !this.budget) return;
      if (!spot.queue) this.open(spot);
      else for (const [below] of spot.best.leads) if (below) this.pass(below);
      this.raise(spot);
    }

    /** Ranks acts by a bound that doesn't look where they lead. */
    open(spot) {
      this.budget--;
      spot.seen = 0;
      spot.acts = this.acts(spot);
      const list = this.causes.list(spot.left);
      for (const act of spot.acts) {
        const { repair, leaves, needs } = act.row;
        const ends = this.ends(spot.left, spot.paid | needs);
        const rest = (end, i) => repair && !(leaves[0] & this.causes.one[list[i]]) ? 0 : end;
        const seconds = ends.map((end, i) => Math.max(act.seconds + rest(end, i), repair ? 0 : spot.seconds[i]));
        act.least = this.weigh(spot, seconds);
      }
      spot.queue = [...spot.acts].sort((a, b) => (a.least > b.least) - (a.least < b.least));
    }

    /** Chooses the best act by bound, then by order; looks into acts only as they come to be best. */
    raise(spot) {
      let value, best;
      const before = (v, act) => !best || v < value || (v === value && act.at < best.at);
      for (let i = 0; i < spot.queue.length; i++) {
        const act = spot.queue[i];
        if (i >= spot.seen && !before(act.least, act)) break;
        spot.seen = Math.max(spot.seen, i + 1);
        const found = this.after(spot, act, (below) => this.bound(below));
        if (before(found, act)) [value, best] = [found, act];
      }
      spot.best = best;
      if (!best) spot.bound = this.value(0);
      else if (value > spot.bound) spot.bound = value;
      spot.settled = !best || best.leads.every(([below]) => !below || below.settled);
    }

    // Beyond the budget.

    /** Weight x seconds of the plan that stands; `spot.act` is then its first act. */
    worth(spot) {
      if (spot.worth !== undefined) return spot.worth;
      if (spot.settled) {
        spot.act = spot.best;
        return (spot.worth = spot.bound);
      }
      spot.act = this.choose(spot, (act) => [this.after(spot, act, (below) => this.greedy(below)), this.value(1)]);
      return (spot.worth = spot.act ? this.after(spot, spot.act, (below) => this.worth(below)) : this.value(0));
    }

    /** Weight x seconds of a greedy hunt: always the act with the least time for what it tells. */
    greedy(spot) {
      if (spot.settled) return spot.bound;
      if (spot.greedy === undefined) {
        const act = this.choose(spot, (act) => [BigInt(act.seconds), this.told(spot, act)]);
        spot.greedy = act ? this.after(spot, act, (below) => this.greedy(below)) : this.value(0);
      }
      return spot.greedy;
    }

    /** The first of the acts with the least fraction. */
    choose(spot, fraction) {
      spot.acts = spot.acts || this.acts(spot);
      const found = spot.acts.map((act) => [...fraction(act), act]);
      return found.length ? found.reduce((a, b) => (b[0] * a[1] < a[0] * b[1] ? b : a))[2] : null;
    }

    /** What an act tells: one less its findings' squared chances, times a common number. */
    told(spot, act) {
      const square = (value) => BigInt(value) ** 2n;
      const whole = square(spot.whole);
      const told = this.leads(spot, act).reduce((rest, [below, by]) => (below ? rest - square(below.whole / by) : rest), whole);
      return told > whole / 1000000n ? told : whole / 1000000n;
    }

    /** @returns {Step | null} what the plan does in a state, always the same object */
    step(spot) {
      if (spot.step !== undefined) return spot.step;
      this.worth(spot);
      return (spot.step = spot.act ? this.write(spot, spot.act) : null);
    }

    write({ whole }, { row, seconds, leads }) {
      const lead = (below, weight) => ({
        left: below ? this.causes.list(below.left) : [],
        share: Number(weight) / Number(whole),
        weight,
        then: () => below && this.step(below),
      });
      const found = leads.map(([below, by]) => lead(below, below ? below.whole / by : this.value(0)));
      if (row.repair) found.unshift(lead(null, whole - found[0].weight));
      return { kind: row.repair ? "repair" : "test", number: row.number, seconds, whole, leads: found };
    }
  }

  /** A symptom's hunts, and what a walk through one asks. */
  class Hunt {
    /** @param {Data} data */
    constructor(data) {
      this.budget = data.budget;
      this.planner = memo((isolate) => new Planner(data, isolate));
    }

    /** The plan from a place on. @param {Place} place @param {boolean} isolate @returns {Plan} */
    plan(place = {}, isolate = false) {
      const planner = this.planner(isolate);
      return planner.plan(this.state(place, planner), this.budget);
    }

    state({ left, paid, done = [], unread = [] }, { causes, access, numbers, tests, value }) {
      const mask = left ? causes.mask(left) : causes.all;
      const times = causes.list(mask).map((c) => value(done.reduce((by, t) => by * BigInt(tests[t].spread[c]), 1n)));
      return { left: mask, paid: access.mask(paid), toDo: numbers.all & ~numbers.mask([...done, ...unread]), times };
    }
  }

  const isolate = { Hunt };
  root.Backprobe = Object.assign(root.Backprobe || {}, { isolate });
  if (typeof module === "object" && module.exports) module.exports = isolate;
})(/** @type {any} */ (globalThis));

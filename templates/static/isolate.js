/** Plans a fault hunt from where it stands as `kb/isolation` does: the same budget, order and ties. */
(function (root) {
  "use strict";

  /**
   * @typedef {{left?: number[], paid?: number[], done?: number[], unread?: number[]}} Place
   * @typedef {{kind: string, number: number, seconds: number,
   *   leads: {left: number[], share: number, then: () => Step | null}[]}} Step
   * @typedef {{seconds: number, proved: boolean, gap: number, exact: any[], first: Step | null}} Plan
   */

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
  const least = (list) => (list.length ? Math.min(...list) : 0);

  /** Sets as bit masks: BigInts where a number has too few bits. */
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
    constructor({ weights, tests, repairs, access }, isolate) {
      const causes = (this.causes = new Sets(weights));
      const numbers = (this.numbers = new Sets(tests));
      const opened = (this.opened = new Sets(access));
      this.isolate = isolate;
      const row = (number, seconds, needs, leaves, more) => {
        const spread = causes.one.map((c) => leaves.filter((m) => m & c).length || 1);
        const overlap = causes.mask(causes.where((c) => spread[c] > 1));
        return { number, seconds, needs: opened.mask(needs), leaves, spread, overlap, ...more };
      };
      this.tests = tests.map(([seconds, needs, lists, after], number) =>
        row(number, seconds, needs, lists.map((list) => causes.mask(list)), { bit: numbers.one[number], after: numbers.mask(after) }));
      // A repair leaves what it doesn't mend.
      this.repairs = repairs.map(([seconds, needs, mends, tried], number) => {
        if (isolate) [seconds, needs, tried] = [0, [], 0];
        return row(number, seconds, needs, [causes.all & ~causes.mask(mends)], { repair: true, bit: numbers.none, tried });
      });
      // Weights are whole for each way that findings overlap.
      const ways = causes.one.map((_, c) => this.tests.reduce((by, t) => by * BigInt(t.spread[c]), 1n));
      const scale = ways.reduce((a, b) => (a / gcd(a, b)) * b, 1n);
      const seconds = [...this.tests, ...this.repairs].map((r) => r.seconds).concat(access).reduce(add, 1);
      this.value = scale * BigInt(weights.reduce(add, 0) * 2 * seconds) < 2n ** 53n ? Number : BigInt;
      this.weights = weights.map((weight) => this.value(BigInt(weight) * scale));
      this.of = memo((mask) => numbers.list(mask).map((t) => this.tests[t]));
      this.unpaid = memo((missing) => opened.list(missing).reduce((sum, i) => sum + access[i], 0));
      this.price = (row, paid) => row.seconds + this.unpaid(row.needs & ~paid);
      this.splitting = memo((left) =>
        numbers.mask(numbers.where((t) => this.tests[t].leaves.some((m) => m & left && left & ~m))));
      this.useful = memo((left, toDo) =>
        [...this.of(toDo), ...this.repairs.filter((r) => left & ~r.leaves[0])].map((r) => r.needs).reduce(join, opened.none));
      // Those that split what is left, and what comes before them.
      this.toDo = memo((left, undone) => {
        let [found, before] = [this.splitting(left) & undone, numbers.none];
        while (before !== found) {
          before = found;
          for (const t of this.of(found)) found |= t.after & undone;
        }
        return found;
      });
    }

    /** Least seconds first, then tests before repairs, then page order. A repair waits for its proof. */
    acts({ left, paid, toDo }) {
      const mended = (r) => !(left & r.leaves[0]);
      if (this.isolate && (!toDo || this.repairs.some(mended))) return [];
      const tests = this.of(toDo).filter((t) => !(t.after & toDo));
      const may = (r) => !this.isolate && left & ~r.leaves[0] && (r.tried || !toDo || mended(r));
      return tests.concat(this.repairs.filter(may))
        .map((row) => ({ row, seconds: this.price(row, paid) }))
        .sort((a, b) => a.seconds - b.seconds)
        .filter(this.undoubled(left, paid, toDo))
        .map((act, at) => ({ ...act, at }));
    }

    /** Of tests that part what is left alike, the cheapest that opens no more stays. */
    undoubled(left, paid, toDo) {
      const alone = this.splitting(left) & ~this.of(toDo).map((t) => t.after).reduce(join, this.numbers.none);
      const seen = {};
      return ({ row }) => {
        if (row.overlap & left || !(alone & row.bit)) return true;
        const parts = row.leaves.map((m) => m & left).filter((m) => m).sort().join();
        const others = (seen[parts] = seen[parts] || []);
        return !others.some((o) => !(o.needs & ~paid & ~row.needs) && o.seconds <= row.seconds) && others.push(row);
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
      this.ready = memo((toDo) => mask((t) => t.repair || toDo & t.bit));
      this.pairs = causes.one.map((c) => causes.one.map((d) => this.pair(c, d)));
      this.mending = causes.one.map((c) => repairs.filter((r) => ~r.leaves[0] & c));
      this.ends = memo((left, paid) => causes.list(left).map((c) => least(this.mending[c].map((r) => this.price(r, paid)))));
    }

    /** What tells a cause from another, and the seconds until it has. */
    pair(cause, other) {
      const { tellers, places } = this;
      const shares = tellers.map(({ leaves }) => {
        const met = leaves.filter((m) => m & cause);
        return met.filter((m) => !(m & other)).length / (met.length || 1);
      });
      const dear = (p) => tellers[p].seconds / shares[p];
      const order = places.where((p) => shares[p]).sort((a, b) => dear(a) - dear(b));
      const inTurn = (some) => {
        let [seconds, goingOn] = [0, 1];
        for (const p of order.filter((i) => some & places.one[i])) {
          seconds += goingOn * tellers[p].seconds;
          goingOn *= 1 - shares[p];
        }
        return Math.floor(seconds + 1e-6);
      };
      const tell = memo((paid, some) => {
        const expected = Math.min(inTurn(some), inTurn(some & ~this.tries));
        const rows = tellers.filter((_, p) => some & places.one[p]);
        return [least(rows.map((r) => this.price(r, paid))), least(rows.map((r) => this.unpaid(r.needs & ~paid))), expected];
      });
      return { tells: places.mask(order), tell };
    }

    /** The better of one repair's own way, and the cheapest repair after what each needs. */
    cause(cause, left, paid, ready) {
      const repairs = this.mending[cause];
      const prices = repairs.map((r) => this.price(r, paid));
      const others = repairs.map((r) => (r.tried ? this.causes.none : left & r.leaves[0]));
      const ways = repairs.map((r, i) => prices[i] + this.telling(cause, others[i], paid | r.needs, ready)[0]);
      const all = repairs.length || this.isolate ? left & ~this.causes.one[cause] : this.causes.none;
      const [, dearest, sum] = this.telling(cause, others.reduce((a, b) => a & b, all), paid, ready);
      return Math.max(least(ways), least(prices) + sum, least(repairs.map((r) => r.seconds)) + dearest);
    }

    /** Seconds of telling others apart: at least, expected with access, a sum. */
    telling(cause, others, paid, ready) {
      let [cheapest, dearest, sum, used] = [0, 0, 0, this.places.none];
      for (const other of this.causes.list(others)) {
        const { tells, tell } = this.pairs[cause][other];
        const some = tells & ready;
        if (!(some & ~this.tries)) continue;
        const [price, entry, expected] = tell(paid, some);
        cheapest = Math.max(cheapest, price);
        dearest = Math.max(dearest, expected + entry);
        if (some & used) continue;
        used |= some;
        sum += expected;
      }
      return [cheapest, dearest, sum];
    }
  }

  /** Best first within the budget; beyond it, one step over a greedy hunt. */
  class Planner extends Bounds {
    plan({ left, paid, done = [], unread = [] }, budget) {
      const { causes, numbers, tests, value } = this;
      const mask = left ? causes.mask(left) : causes.all;
      const times = causes.list(mask).map((c) => done.reduce((by, t) => by * value(tests[t].spread[c]), value(1)));
      const none = value(0);
      this.end = { left: causes.none, whole: none, bound: none, settled: true, worth: none, step: null };
      this.spots = new Map();
      this.budget = budget;
      const [spot] = this.meet(mask, this.opened.mask(paid), numbers.all & ~numbers.mask(done.concat(unread)), times);
      this.bound(spot);
      while (!spot.settled && this.budget) this.pass(spot);
      const exact = [this.worth(spot), spot.bound, spot.whole || value(1)];
      const [seconds, bound] = exact.map((n) => Number(n) / Number(exact[2]));
      return { seconds, proved: spot.settled, gap: seconds - bound, exact, first: spot.step };
    }

    /** What can still matter of a state, and what its weights are divided by. */
    meet(left, paid, undone, times) {
      if (!left) return [this.end, this.value(1)];
      const toDo = this.toDo(left, undone);
      const by = times.reduce(gcd);
      if (by > 1) times = times.map((n) => n / by);
      paid &= this.useful(left, toDo);
      const key = `${left} ${paid} ${toDo} ${times}`;
      if (!this.spots.has(key)) {
        const weights = this.causes.list(left).map((c, i) => this.weights[c] / times[i]);
        this.spots.set(key, { left, paid, toDo, times, weights, whole: weights.reduce(add), settled: false });
      }
      return [this.spots.get(key), by];
    }

    leads({ left, paid, toDo, times }, act) {
      if (act.leads) return act.leads;
      const { leaves, needs, bit, overlap, spread } = act.row;
      const list = this.causes.list(left);
      if (overlap & left) times = times.map((n, i) => n * this.value(spread[list[i]]));
      const kept = (mask) => times.filter((_, i) => mask & this.causes.one[list[i]]);
      return (act.leads = leaves.map((m) => this.meet(m & left, paid | needs, toDo & ~bit, kept(m))));
    }

    /** Weight x seconds of an act and of the states it leads to. */
    after(spot, act, worth) {
      if (!act) return this.end.bound;
      return this.leads(spot, act).reduce((sum, [below, by]) => sum + worth(below) / by, spot.whole * this.value(act.seconds));
    }

    weigh({ weights }, seconds) {
      return weights.reduce((sum, weight, i) => sum + weight * this.value(seconds[i]), this.end.bound);
    }

    bound(spot) {
      if (spot.bound === undefined) {
        const ready = this.ready(spot.toDo);
        spot.seconds = this.causes.list(spot.left).map((c) => this.cause(c, spot.left, spot.paid, ready));
        spot.bound = this.weigh(spot, spot.seconds);
      }
      return spot.bound;
    }

    pass(spot) {
      if (spot.settled || !this.budget) return;
      if (!spot.queue) this.open(spot);
      else for (const [below] of spot.best.leads) this.pass(below);
      this.raise(spot);
    }

    /** Ranks acts by a bound that doesn't look where they lead. */
    open(spot) {
      this.budget--;
      spot.acts = this.acts(spot);
      const list = this.causes.list(spot.left);
      for (const act of spot.acts) {
        const { repair, needs, leaves } = act.row;
        const least = (end, i) =>
          !repair ? Math.max(act.seconds + end, spot.seconds[i])
            : leaves[0] & this.causes.one[list[i]] ? act.seconds + end : act.seconds;
        act.least = this.weigh(spot, this.ends(spot.left, spot.paid | needs).map(least));
      }
      spot.queue = [...spot.acts].sort((a, b) => (a.least > b.least) - (a.least < b.least));
    }

    /** Chooses the best act by bound, then by order; looks into acts as they come to be best. */
    raise(spot) {
      let best;
      const before = (value, { at }) => !best || value < best.value || (value === best.value && at < best.at);
      for (const act of spot.queue) {
        if (act.value === undefined && !before(act.least, act)) break;
        act.value = this.after(spot, act, (below) => this.bound(below));
        if (before(act.value, act)) best = act;
      }
      spot.best = best;
      spot.settled = !best || best.leads.every(([below]) => below.settled);
      if (!best || best.value > spot.bound) spot.bound = best ? best.value : this.end.bound;
    }

    /** Weight x seconds of the plan that stands. */
    worth(spot) {
      if (spot.worth === undefined) {
        const one = this.value(1);
        const act = spot.settled ? spot.best : this.choose(spot, (act) => [this.after(spot, act, (below) => this.greedy(below)), one]);
        spot.worth = this.after(spot, act, (below) => this.worth(below));
        spot.step = act ? this.step(spot, act) : null;
      }
      return spot.worth;
    }

    /** The same of a greedy hunt: least time for what is told. */
    greedy(spot) {
      if (spot.settled) return spot.bound;
      if (spot.greedy === undefined) {
        const act = this.choose(spot, (one) => [BigInt(one.seconds), this.told(spot, one.row)]);
        spot.greedy = this.after(spot, act, (below) => this.greedy(below));
      }
      return spot.greedy;
    }

    /** The first act with the least fraction. */
    choose(spot, fraction) {
      spot.acts = spot.acts || this.acts(spot);
      const found = spot.acts.map((act) => [...fraction(act), act]);
      return found.length ? found.reduce((a, b) => (b[0] * a[1] < a[0] * b[1] ? b : a))[2] : null;
    }

    /** One less the findings' squared chances, times a common number. */
    told({ left, whole, weights }, { spread, leaves }) {
      const part = (mask) => this.causes.list(left).reduce((sum, c, i) =>
        mask & this.causes.one[c] ? sum + weights[i] / this.value(spread[c]) : sum, this.end.whole);
      const told = leaves.reduce((sum, m) => sum - BigInt(part(m)) ** 2n, BigInt(whole) ** 2n);
      const few = BigInt(whole) ** 2n / 1000000n;
      return told > few ? told : few;
    }

    step({ whole }, { row: { repair, number }, seconds, leads }) {
      const found = leads.map(([spot, by]) => (
        { left: this.causes.list(spot.left), share: Number(spot.whole / by) / Number(whole), then: () => spot.step }));
      if (repair) found.unshift({ left: [], share: 1 - found[0].share, then: () => null });
      return { kind: repair ? "repair" : "test", number, seconds, leads: found };
    }
  }

  /** Of the data that `kb/isolation/data.py` writes. */
  class Hunt {
    constructor(data) {
      this.budget = data.budget;
      this.planner = memo((isolate) => new Planner(data, isolate));
    }

    /** @param {Place} [place] @param {boolean} [isolate] @returns {Plan} */
    plan(place = {}, isolate = false) {
      return this.planner(isolate).plan(place, this.budget);
    }
  }

  root.Backprobe = Object.assign(root.Backprobe || {}, { isolate: { Hunt } });
  if (typeof module === "object") module.exports = { Hunt };
})(/** @type {any} */ (globalThis));

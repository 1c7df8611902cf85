/**
 * A symptom walked on its page: what to do next, what each finding clears and leaves, what was done so far.
 *
 * The plan is worked out when the site is written. Off the plan (a test out of order, one that couldn't be
 * read) `isolate.js` works out the rest in the same way; `stand.js` says where the walk stands. It stands in the
 * address, so that it can be sent on: `#walk=test~row.test~row`, row u where a test couldn't be read.
 */
(function () {
  "use strict";
  const Backprobe = window.Backprobe;
  const { rows, stand, off, slow, next, written, read, csv } = Backprobe.walk;
  const source = document.getElementById("walk-data");
  if (!source) return;

  const data = JSON.parse(source.textContent);
  const hunts = new Map();
  const anchors = (ids) => ids.map((id) => id.slice(id.indexOf("#") + 1));
  const names = { t: unique(anchors(data.tests), data.tests), r: unique(anchors(data.repairs), data.repairs) };
  const slot = document.querySelector(".do-next");
  const asked = slot.querySelector(".asked");
  const job = document.querySelector(".job");
  const homes = new Map();
  const cards = { t: new Map(), r: new Map() };
  let events = [];
  let lost = [];
  let away = data.goes;
  let asleep = false; // somebody looked, and it is away
  let now = null;
  let changed = null; // the vehicle chosen before an address named another, and that other's key

  /** Two pages may have tests of one name: then the address carries the page too. */
  function unique(short, ids) {
    return short.map((name, i) => (short.indexOf(name) === short.lastIndexOf(name) ? name : ids[i].replace(/[^a-z0-9]+/gi, "-")));
  }

  function way() {
    const vehicle = Backprobe.vehicle();
    return (vehicle && data.ways.find((one) => one.vehicle === vehicle.key)) || data.ways[0];
  }

  function huntOf(one) {
    if (!hunts.has(one)) hunts.set(one, rows(one.matrix));
    return hunts.get(one);
  }

  const byId = (kind, id) => cards[kind].get((kind === "t" ? data.tests : data.repairs)[id]);
  const titleOf = (card) => (card ? card.querySelector("summary h3").textContent : "");
  const foundWords = (card, row) => {
    const item = card && card.querySelector(`.finding[data-row="${row}"] .found`);
    return item ? item.textContent.trim() : row < 0 ? "Couldn't read it" : "";
  };
  const causeRow = (id) => document.querySelector(`[data-cause="${CSS.escape(id)}"]`);
  const causeName = (one, cause) => {
    const item = causeRow(data.causes[one.causes[cause]]);
    return item ? item.querySelector("a").textContent : "";
  };

  function minutes(seconds) {
    const whole = Math.max(seconds ? 1 : 0, Math.round(seconds / 60));
    const rest = whole % 60 || whole < 60 ? `${whole % 60} min` : "";
    return [whole < 60 ? "" : `${Math.floor(whole / 60)} h`, rest].filter(Boolean).join(" ");
  }

  /** @param {string} tag @param {string} [text] @param {string} [kind] a class */
  function make(tag, text = "", kind = "") {
    const part = document.createElement(tag);
    part.textContent = text;
    if (kind) part.className = kind;
    return part;
  }

  function button(text, act, kind = "key") {
    const key = make("button", text, kind);
    key.type = "button";
    key.addEventListener("click", act);
    return key;
  }

  // Setting up: findings become keys.

  for (const [kind, attribute] of [["t", "test"], ["r", "repair"]]) {
    for (const card of document.querySelectorAll(`.walk [data-${attribute}]`)) {
      cards[kind].set(card.dataset[attribute], card);
      const home = document.createComment("");
      const inside = card.closest(".do-next");
      const list = document.querySelector(`.walk .${attribute}s`);
      if (!inside) card.before(home);
      else if (list.querySelector(".others")) list.querySelector(".others").after(home);
      else list.append(home);
      homes.set(card, home);
      if (kind === "r") {
        const keys = document.getElementById("walk-findings").content.cloneNode(true);
        card.querySelector(".prove").after(make("p", "Did the repair mend it?", "ask-found"), keys);
      }
      for (const item of card.querySelectorAll(".finding")) press(card, kind, item);
    }
  }

  function press(card, kind, item) {
    const words = item.querySelector(".found");
    const key = button("", () => say(card, kind, Number(item.dataset.row)), "go-on");
    key.append(...words.childNodes);
    words.append(key);
    const effect = item.querySelector(".effect");
    effect.id = effect.id || `effect-${homes.size}-${item.dataset.row}-${kind}`;
    key.setAttribute("aria-describedby", effect.id);
  }

  function say(card, kind, row) {
    const list = kind === "t" ? data.tests : data.repairs;
    const id = list.indexOf(card.dataset[kind === "t" ? "test" : "repair"]);
    if (id < 0) return;
    events = [...events.filter((event) => !(event.kind === kind && event.id === id)), { kind, id, row }];
    away = data.goes;
    asleep = false;
    tell(true);
  }

  function takeBack(place) {
    events = events.filter((_, i) => i !== place);
    away = data.goes;
    asleep = false;
    tell(true);
  }

  // Telling: everything on the page that the walk changes.

  function tell(moved) {
    const one = way();
    const hunt = huntOf(one);
    const at = stand(data, one, hunt, events);
    const waits = slow(hunt, at);
    const step = waits ? null : next(one, hunt, at);
    sayChanged();
    sayNotFor();
    putAway(one);
    place(one, step);
    chips(one, hunt, at, step);
    effects(one, hunt, at);
    Backprobe.putAside();
    causes(one, hunt, at);
    if (waits) work(hunt, at);
    else ending(one, hunt, at, step);
    jobCard(one, at);
    accesses(one, at);
    stick(at, step);
    planFor(one);
    document.body.classList.toggle("walked", events.length > 0);
    if (moved) {
      address(at);
      const heading = document.getElementById("do-next");
      heading.focus({ preventScroll: true });
      slot.scrollIntoView();
    }
  }

  /** A plan that takes a while is worked out after the page has said so. */
  function work(hunt, at) {
    document.getElementById("do-next").textContent = "Working out what comes next";
    document.querySelector("[data-told=fixed]").textContent = "…";
    asked.replaceChildren(make("p", "This walk has left the plan. What is cheapest from here is worked out now; it takes some seconds.", "verdict"));
    requestAnimationFrame(() => setTimeout(() => {
      hunt.plan(off(at));
      tell(false);
    }));
  }

  /** What says nothing on the chosen vehicle is put away, unless it was done or the address leads to it. */
  function putAway(one) {
    const count = { t: 0, r: 0 };
    for (const [kind, list, own] of [["t", data.tests, one.tests], ["r", data.repairs, one.repairs]]) {
      for (const [id, card] of cards[kind]) {
        const number = list.indexOf(id);
        const kept = own.includes(number) || events.some((event) => event.kind === kind && event.id === number);
        card.hidden = !kept && !card.querySelector(":target");
        if (card.hidden) count[kind] += 1;
      }
    }
    const many = (number, word) => (number ? [`${number} ${word}${number === 1 ? "" : "s"}`] : []);
    const words = [...many(count.t, "test"), ...many(count.r, "repair")].join(" and ");
    const vehicle = Backprobe.vehicle();
    const note = document.querySelector(".walk .put-away");
    note.hidden = !words || !vehicle;
    note.textContent = words && vehicle ? `Put away, since nothing of it is about your ${vehicle.name}: ${words}.` : "";
  }

  /** The card of the next step stands below "Do this next", all others at their own places. */
  function place(one, step) {
    const card = step ? byId(step.kind, (step.kind === "t" ? one.tests : one.repairs)[step.number]) : null;
    if (card === now && card && slot.contains(card)) return;
    for (const other of slot.querySelectorAll(".fold")) {
      if (other !== card) {
        homes.get(other).after(other);
        other.open = false;
      }
    }
    for (const note of slot.querySelectorAll(":scope > .none")) note.hidden = Boolean(card);
    if (card) {
      slot.append(card);
      card.open = true;
    }
    now = card;
  }

  function chips(one, hunt, at, step) {
    const set = (name, text) => (document.querySelector(`[data-told=${name}]`).textContent = text);
    set("left", at.fixed >= 0 ? "none" : String(at.left.size));
    set("fixed", at.fixed >= 0 ? "fixed" : step ? minutes(step.togo) : "not known");
    const needs = step ? (step.kind === "t" ? hunt.needs(step.number) : hunt.repairNeeds(step.number)) : [];
    const off = needs.filter((access) => !at.paid.has(access)).map((access) => data.access[one.access[access]]);
    const named = off.filter((id) => data.strips.includes(id)).map((id) => data.named[id]);
    set("off", named.join(", ") || (off.length || !at.paid.size ? "nothing" : "nothing more"));
  }

  /** What each finding of each test would clear and leave now. */
  function effects(one, hunt, at) {
    for (const [id, card] of cards.t) {
      const number = one.tests.indexOf(data.tests.indexOf(id));
      const event = events.find((past) => past.kind === "t" && data.tests[past.id] === id);
      card.classList.toggle("done", Boolean(event));
      const silent = data.goes && away;
      for (const item of card.querySelectorAll(".finding")) {
        const row = Number(item.dataset.row);
        const chosen = Boolean(event) && event.row === row;
        item.classList.toggle("chosen", chosen);
        const key = item.querySelector("button");
        key.disabled = silent && row >= 0;
        if (chosen) key.setAttribute("aria-current", "true");
        else key.removeAttribute("aria-current");
        item.querySelector(".effect").textContent = key.disabled ? (asleep ? "clears nothing while the fault is away" : "say above whether the fault is there now") : effect(one, hunt, at, number, row, event, chosen);
      }
    }
    for (const [id, card] of cards.r) {
      const number = one.repairs.indexOf(data.repairs.indexOf(id));
      const event = events.find((past) => past.kind === "r" && data.repairs[past.id] === id);
      card.classList.toggle("done", Boolean(event));
      const mended = number < 0 ? [] : hunt.mends(number).filter((cause) => at.left.has(cause));
      const not = card.querySelector('.finding[data-row="1"] .effect');
      not.textContent = event && event.row === 1 ? "found" : `clears ${mended.length || "nothing"}, leaves ${at.left.size - mended.length}`;
    }
  }

  function effect(one, hunt, at, number, row, event, chosen) {
    if (row < 0) return chosen ? "left out" : "clears nothing; the test is left out";
    if (number < 0) return "not for your vehicle: clears nothing here";
    if (chosen) return at.clash === event ? "found; it contradicts what was found before" : "found";
    const kept = hunt.leaves(number, row).filter((cause) => at.left.has(cause));
    if (!kept.length) return "leaves none of the causes left";
    const gone = at.left.size - kept.length;
    const last = gone && kept.length <= 3 ? `: ${kept.map((cause) => causeName(one, cause)).join(", ")}` : "";
    return `clears ${gone || "nothing"}, leaves ${kept.length}${last}`;
  }

  /** Causes left as branches of a trunk that thins; cleared ones below, each with what cleared it. */
  function causes(one, hunt, at) {
    const weights = hunt.shares([...at.left], [...at.done]);
    const list = document.querySelector(".causes");
    const gone = document.querySelector(".cleared");
    let below = 1;
    const heaviest = Math.max(...weights.values(), 0);
    for (const item of document.querySelectorAll("[data-cause]")) {
      const cause = one.causes.indexOf(data.causes.indexOf(item.dataset.cause));
      const left = at.left.has(cause);
      item.hidden = cause < 0;
      if (cause < 0 || left === Boolean(item.closest(".causes"))) continue;
      (left ? list : gone.querySelector("ul")).append(item);
    }
    const whole = one.matrix.weights.reduce((sum, weight) => sum + weight, 0);
    one.causes.forEach((id, cause) => {
      const item = causeRow(data.causes[id]);
      if (item) item.querySelector(".weight").textContent = `${one.sources[cause]}; ${one.matrix.weights[cause]} of ${whole} by weight`;
    });
    const order = [...list.children].sort((a, b) => place_(a) - place_(b));
    list.append(...order);
    for (const item of [...list.children].filter((part) => !part.hidden)) {
      const cause = one.causes.indexOf(data.causes.indexOf(item.dataset.cause));
      const share = weights.get(cause) || 0;
      thin(item, below, below - share, share / (heaviest || 1));
      below -= share;
      note(item, at.done.size && at.left.size > 1 ? `now ${Math.round(100 * share)} %` : "");
    }
    for (const item of gone.querySelectorAll("[data-cause]")) {
      const event = at.cleared.get(one.causes.indexOf(data.causes.indexOf(item.dataset.cause)));
      const card = event && byId(event.kind, event.id);
      note(item, card ? `by ${titleOf(card)}: ${inside(foundWords(card, event.row))}` : "");
    }
    gone.hidden = !gone.querySelector("[data-cause]:not([hidden])");
    const shown = [...list.children].filter((part) => !part.hidden);
    for (const item of list.children) item.classList.toggle("end", item === shown.at(-1));
  }

  const first = [...document.querySelectorAll("[data-cause]")];
  const place_ = (item) => first.indexOf(item);

  /** The widths of `loom.py`: a trunk of 14, a branch of at most 12, 28 to 78 long. */
  function thin(item, above, below, share) {
    const width = (part, widest) => (part > 1e-9 ? Math.max(2, Math.round(widest * part)) : 0);
    const lines = item.querySelectorAll(".branch line");
    const branch = lines[lines.length - 1];
    lines[0].setAttribute("stroke-width", String(width(above, 14)));
    if (lines.length > 2) lines[1].setAttribute("stroke-width", String(width(below, 14)));
    const reach = Math.round(28 + 50 * share);
    branch.setAttribute("stroke-width", String(width(share, 12)));
    branch.setAttribute("x1", String(8 - width(above, 14) / 2));
    branch.setAttribute("x2", String(reach));
    item.querySelector(".ring").setAttribute("cx", String(reach + 7));
  }

  function note(item, text) {
    let part = item.querySelector(".now-share");
    if (!part) {
      part = make("p", "", "now-share");
      item.querySelector("a").after(part);
    }
    part.textContent = text;
    part.hidden = !text;
  }

  /** What is said above the card: the question of a fault that comes and goes, what was found, what is left. */
  function ending(one, hunt, at, step) {
    asked.replaceChildren();
    document.getElementById("do-next").textContent = at.fixed >= 0 ? "Fixed" : step ? "Do this next" : "What now";
    for (const name of lost) asked.append(make("p", `This address names ${name}, which the page doesn't have: that step is left out.`, "none"));
    if (at.clash) return contradiction(at);
    if (at.fixed >= 0) return fixed(one, at);
    if (!at.left.size) return nothingLeft(at);
    const named = [...at.left].map((cause) => causeName(one, cause)).join(", ");
    if (step && step.kind === "r") {
      const sure = at.left.size === 1 && at.found.has([...at.left][0]);
      const mended = hunt.mends(step.number).filter((cause) => at.left.has(cause)).length;
      const all = mended === at.left.size;
      const text = sure ? `Found: ${named}.` : at.left.size === 1 ? `Left over: ${named}. The findings cleared the others; the repair's proof decides.`
        : all ? `Left: ${named}. This repair mends each of them.` : `Left: ${named}. ${hunt.tries(step.number) ? "This repair is cheap and may be tried first." : "No test here tells them apart; begin with this repair."}`; // prettier-ignore
      asked.append(make("p", text, "verdict"));
    } else if (!step) {
      asked.append(make("p", `Left: ${named}. No test here tells them apart, and no repair is written for them.`, "verdict"));
    } else if (data.goes) there();
    if (step && step.togo > at.before) asked.append(make("p", "More minutes than before: what this finding left takes longer to find or to mend than what it cleared.", "longer"));
    return undefined;
  }

  function there() {
    const part = document.getElementById("walk-there").content.cloneNode(true);
    const yes = part.querySelector("[data-there=yes]");
    const no = part.querySelector("[data-there=no]");
    const provoke = part.querySelector(".provoke");
    const show = () => {
      yes.setAttribute("aria-pressed", String(!away));
      no.setAttribute("aria-pressed", String(away && !provoke.hidden));
    };
    yes.addEventListener("click", () => {
      away = asleep = false;
      provoke.hidden = true;
      show();
      refresh();
    });
    no.addEventListener("click", () => {
      away = asleep = true;
      provoke.hidden = false;
      show();
      refresh();
    });
    show();
    asked.append(part);
  }

  function refresh() {
    const one = way();
    const hunt = huntOf(one);
    effects(one, hunt, stand(data, one, hunt, events));
  }

  function contradiction(at) {
    const card = byId("t", at.most[1]);
    const words = `This contradicts what was found before: no cause written here fits all of it. Do ${card ? titleOf(card) : "the last test"} again, whose finding clears most, or take a finding back. If it reads the same, the cause is none of those written here, or there is more than one fault.`;
    asked.append(make("p", words, "verdict"));
    if (card) asked.append(button(`Do ${titleOf(card)} again`, () => again(at.most[1])));
  }

  /** A test's finding is taken back so that it is asked again. */
  function again(id) {
    const card = byId("t", id);
    events = events.filter((event) => !(event.kind === "t" && event.id === id));
    tell(true);
    if (card && card !== now) {
      card.open = true;
      card.scrollIntoView();
    }
  }

  function nothingLeft(at) {
    const card = byId("t", at.most[1]);
    const which = card ? `: do ${titleOf(card)} again, whose finding clears most` : "";
    asked.append(make("p", `Nothing written here is left. The cause is none of those listed, or a finding misled${which}. The maker's own procedure comes next.`, "verdict"));
    if (card) asked.append(button(`Do ${titleOf(card)} again`, () => again(at.most[1])));
  }

  function fixed(one, at) {
    const card = byId("r", one.repairs[at.fixed]);
    const mended = [...at.found].map((cause) => causeName(one, cause)).join(" or ");
    asked.append(make("p", `Fixed by ${titleOf(card)}${mended && ": "}${mended}, after about ${minutes(at.seconds)} by the times written here.`, "verdict"));
    const vehicle = Backprobe.vehicle();
    const tests = at.log.filter((entry) => entry.event.kind === "t" && entry.event.row >= 0).map((entry) => titleOf(byId("t", entry.event.id)));
    const day = new Date();
    const date = [day.getFullYear(), day.getMonth() + 1, day.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
    const cause = at.found.size === 1 ? mended : "";
    const row = csv([date, vehicle ? vehicle.name : "", document.querySelector("h1").textContent, cause, String(Math.max(1, Math.round(at.seconds / 60))), titleOf(card), tests.join("; "), ""]);
    asked.append(rowOf(row));
  }

  function rowOf(row) {
    const box = make("div", "", "row");
    const label = make("label", "The job's row for the history (date, vehicle, symptom, cause, minutes, repair, tests, returned). Put your own minutes and cause in.");
    const field = make("textarea");
    field.id = "job-row";
    label.htmlFor = "job-row";
    field.value = row;
    field.rows = 4;
    const told = make("span", "", "small");
    told.setAttribute("role", "status");
    const keys = make("p", "", "keys");
    keys.append(button("Copy", () => copy(field, told)), " ", button("Download", () => download(field.value)), " ", told);
    box.append(label, field, keys);
    return box;
  }

  async function copy(field, told) {
    try {
      await navigator.clipboard.writeText(field.value);
    } catch {
      field.select();
      document.execCommand("copy");
    }
    told.textContent = "copied";
  }

  function download(row) {
    const link = make("a");
    const file = new Blob(["date,vehicle,symptom,cause,minutes,repair,tests,returned\r\n", row, "\r\n"], { type: "text/csv" });
    link.href = URL.createObjectURL(file);
    link.download = "job.csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  }

  const sheet = document.querySelector(".title .print-card");
  job.append(button("Print this job", () => window.print(), "key print-job"));

  function jobCard(one, at) {
    job.hidden = !events.length;
    if (sheet) sheet.textContent = events.length ? "Print an empty card" : "Print card";
    const list = job.querySelector("ol");
    list.replaceChildren();
    at.log.forEach((entry, i) => {
      const card = byId(entry.event.kind, entry.event.id);
      const item = make("li");
      const cleared = entry.cleared && entry.cleared.length ? `, cleared ${entry.cleared.length}` : "";
      const told = entry.other ? "not for your vehicle, counts nothing" : entry.event === at.clash ? "contradicts" : minutes(entry.seconds) + cleared;
      item.append(make("strong", titleOf(card)), make("span", foundWords(card, entry.event.row), "was"), make("span", told, "mins"));
      const key = button("Take back", () => takeBack(i), "back");
      key.setAttribute("aria-label", `Take back ${titleOf(card)}`);
      item.append(key);
      list.append(item);
    });
    job.querySelector(".sum").textContent = `${minutes(at.seconds)} so far, by the times written here.`;
  }

  /** An access that is off already says so; its messages stay. */
  function accesses(one, at) {
    const paid = new Set([...at.paid].map((access) => data.access[one.access[access]]));
    for (const part of document.querySelectorAll(".access[data-access]")) part.classList.toggle("off-already", paid.has(part.dataset.access));
  }

  const forAll = document.querySelector(".plan-for");
  const forAllWords = forAll ? forAll.textContent : "";

  /** The whole plan that is printed is for no vehicle in particular: where the chosen one has its own, that is said. */
  function planFor(one) {
    if (!forAll) return;
    const vehicle = Backprobe.vehicle();
    const other = Boolean(vehicle) && one.vehicle === vehicle.key;
    forAll.hidden = Boolean(vehicle) && !other;
    forAll.classList.toggle("other", other);
    forAll.textContent = other ? ownPlan(one, vehicle) : forAllWords;
  }

  function ownPlan(one, vehicle) {
    const start = stand(data, one, huntOf(one), []);
    const step = next(one, huntOf(one), start);
    const first = step && byId(step.kind, (step.kind === "t" ? one.tests : one.repairs)[step.number]);
    if (sameSteps(one, data.ways[0])) return `The plan of your ${vehicle.name} has these same steps, with chances and minutes of its own: ${minutes(step.togo)} until fixed.`;
    const words = first ? `: ${minutes(step.togo)} until fixed, beginning with ${titleOf(first)}` : "";
    return `Not the plan of your ${vehicle.name}. The steps above follow its own plan${words}.`;
  }

  /** Whether two plans are the same tests and repairs, with the same ways between them. */
  function sameSteps(a, b) {
    const [one, other] = [a, b].map((way) => way.plan.steps.map(([kind, number, , after]) => [kind, (kind ? way.repairs : way.tests)[number], after]));
    return one.length > 0 && JSON.stringify(one) === JSON.stringify(other);
  }

  function stick(at, step) {
    const bar = document.querySelector(".stick");
    bar.hidden = false;
    const togo = step ? `, ${minutes(step.togo)}` : "";
    bar.querySelector("[data-told=count]").textContent = at.fixed >= 0 ? "Fixed" : `${at.left.size} left${togo}`;
    bar.querySelector("[data-back]").disabled = !events.length;
    bar.querySelector("[data-on]").hidden = at.fixed >= 0; // nothing comes next
    sayOnward();
  }

  /** What the reader comes to next: from above or below the step its head, from its head what may be found. */
  function onward() {
    const asks = now && now.open ? now.querySelector(".ask-found") : null;
    const inside = asks && slot.getBoundingClientRect().top < 80 && asks.getBoundingClientRect().top > 80;
    if (inside) return { words: "What I found", part: asks, head: asks };
    const head = now ? now.querySelector("summary") : document.getElementById("do-next");
    return { words: `Next: ${now ? titleOf(now) : head.textContent}`, part: slot, head };
  }

  function sayOnward() {
    const { words } = onward();
    const key = document.querySelector(".stick [data-on]");
    if (key.textContent !== words) key.textContent = words;
  }

  function goOnward() {
    const { part, head } = onward();
    if (!head.matches("summary")) head.tabIndex = -1;
    head.focus({ preventScroll: true });
    part.scrollIntoView();
    sayOnward();
  }

  /** A walk printed has the next step alone: the steps of its accesses come along, wherever they stand. */
  function bringSteps() {
    for (const access of document.querySelectorAll(".walked .do-next .access")) {
      const same = `.walk .access[data-access="${CSS.escape(access.dataset.access)}"] > details`;
      const steps = access.querySelector(":scope > details") ? null : document.querySelector(same);
      if (!steps) continue;
      const copy = steps.cloneNode(true);
      for (const part of copy.querySelectorAll("[id]")) part.removeAttribute("id");
      copy.classList.add("brought");
      access.append(copy);
    }
  }

  function takeSteps() {
    for (const copy of document.querySelectorAll(".brought")) copy.remove();
  }

  let begun = false;

  /** The walk as its address says it. */
  function inAddress() {
    const vehicle = Backprobe.vehicle();
    const on = vehicle ? `&on=${encodeURIComponent(vehicle.key)}` : "";
    return events.length ? `walk=${written(events, names.t, names.r)}${on}` : "";
  }

  function address(at) {
    const walk = inAddress();
    const same = history.state && history.state.walk === walk;
    history[same ? "replaceState" : "pushState"]({ walk }, "", walk ? `#${walk}` : location.pathname + location.search);
    keepJob(walk, at);
  }

  function keepJob(walk, at) {
    if (walk || begun) Backprobe.job(walk && at.fixed < 0 ? location.href : "", document.querySelector("h1").textContent);
    begun = Boolean(walk);
  }

  /** A walk in the address is taken up, on the vehicle that it names. */
  function takeUp() {
    const found = /^#walk=([^&]*)(?:&on=([^&]*))?/.exec(location.hash);
    if (!found) return;
    const said = read(decodeURIComponent(found[1]), names.t, names.r);
    events = said.events;
    lost = said.lost;
    begun = true;
    const key = found[2] && decodeURIComponent(found[2]);
    const tape = document.querySelector("[data-known]");
    if (!key || !tape || !tape.dataset.known.split(" ").includes(key)) return;
    const before = Backprobe.vehicle();
    if (before && before.key !== key) changed = { before, key };
    Backprobe.choose(key);
  }

  /** An address that changed the reader's vehicle says so, until another is chosen. */
  function sayChanged() {
    const line = slot.querySelector(".changed");
    const vehicle = Backprobe.vehicle();
    if (changed && !(vehicle && vehicle.key === changed.key)) changed = null;
    line.hidden = !changed;
    const words = changed ? `This walk is on ${article(vehicle.name)} ${vehicle.name}; your vehicle was changed from ${changed.before.name}.` : "";
    if (line.dataset.words === words) return;
    line.dataset.words = words;
    line.replaceChildren(words);
    if (changed) line.append(" ", button(`Back to ${changed.before.name}`, () => goBack(changed.before.key)));
  }

  /** A symptom that isn't for the chosen vehicle says so in its head. */
  function sayNotFor() {
    const line = document.querySelector(".not-for");
    const vehicle = Backprobe.vehicle();
    if (!line) return;
    line.hidden = !vehicle || line.dataset.for.split(" ").includes(vehicle.key);
    line.textContent = line.hidden ? "" : `Not for your ${vehicle.name}: nothing of this symptom is written for it.`;
  }

  const article = (name) => (/^[aeiou]/i.test(name) ? "an" : "a");
  const inside = (words) => (/^[A-Z][a-z ]/.test(words) ? words[0].toLowerCase() + words.slice(1) : words);

  /** Back on the own vehicle the walk goes on there, and its address says so. */
  function goBack(key) {
    Backprobe.choose(key);
    const walk = inAddress();
    history.replaceState({ walk }, "", walk ? `#${walk}` : location.pathname + location.search);
    keepJob(walk, stand(data, way(), huntOf(way()), events));
    const heading = document.getElementById("do-next");
    heading.focus({ preventScroll: true });
  }

  /** The walk leads, so the plan's words wait folded, unless the address leads into them; without script they stand. */
  const inWords = document.querySelector(".in-words");
  if (inWords && !location.hash.startsWith("#plan")) inWords.open = false;
  document.querySelector(".stick [data-back]").addEventListener("click", () => takeBack(events.length - 1));
  document.querySelector(".stick [data-on]").addEventListener("click", goOnward);
  for (const type of ["scroll", "resize"]) window.addEventListener(type, () => requestAnimationFrame(sayOnward), { passive: true });
  document.addEventListener("backprobe:vehicle", () => tell(false));
  window.addEventListener("beforeprint", bringSteps);
  window.addEventListener("afterprint", takeSteps);
  window.addEventListener("hashchange", () => {
    if (inWords && location.hash.startsWith("#plan")) inWords.open = true;
    if (!location.hash.startsWith("#walk=")) return;
    takeUp();
    tell(false);
  });
  /** The browser's way back takes one finding back, its way on gives it again. */
  window.addEventListener("popstate", (event) => {
    if (!event.state || event.state.walk === undefined) return;
    events = [];
    lost = [];
    takeUp();
    tell(false);
    keepJob(event.state.walk, stand(data, way(), huntOf(way()), events));
  });
  takeUp();
  history.replaceState({ walk: events.length ? location.hash.slice(1) : "" }, "");
  tell(false);
  if (events.length) slot.scrollIntoView();
})();

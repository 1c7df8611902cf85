/**
 * The search page, and the first hits on the front page: what is typed becomes hits, best first.
 * Ranking is `Backprobe.search`'s. What was asked stays in the address, and on this device.
 */
(function () {
  "use strict";
  const Backprobe = (window.Backprobe = window.Backprobe || {});
  const at = (name) => document.querySelector(`[data-${name}]`);
  const field = at("search");
  const list = at("hits");
  const count = at("count");
  const ahead = field.dataset.ahead !== undefined;
  const root = document.documentElement.dataset.root;
  const SIDES = ["kind", "function", "vehicle"];
  const STORE = "backprobe.asked";
  const AT_ONCE = ahead ? 5 : 10;
  const LONGEST = 500; // hits that an address can ask for
  const KEPT = 6;
  const AROUND = 80;
  // What is done with the hands: there the strongest signal word is worth a glance.
  const WORKED = new Set(["Test", "Repair", "Access"]);
  const WORD = /([\p{L}\p{N}.]+(?:[-'’][\p{L}\p{N}.]+)*)/u;
  /** @type {Record<string, string>} */
  const keep = {};
  let most = AT_ONCE;
  let turn = 0;

  /** An element with a class, and children or words in it. */
  function make(name, className, ...inside) {
    const element = document.createElement(name);
    if (className) element.className = className;
    element.append(...inside.filter((part) => part !== null && part !== ""));
    return element;
  }

  function key(words, act) {
    const button = make("button", "", words);
    button.type = "button";
    button.addEventListener("click", act);
    return button;
  }

  function plural(kind) {
    return kind + (kind.endsWith("s") ? "es" : "s");
  }

  /** A symptom is worked on its own page, other nodes are read where they are written. */
  function encoded(address, kind) {
    const [written, own] = address.split("#");
    const worked = kind === "Symptom" && own;
    const path = worked ? `${written.replace(/\.html$/, "")}.${own}.html` : written;
    const anchor = worked ? "" : own;
    return root + path.split("/").map(encodeURIComponent).join("/") + (anchor ? "#" + encodeURIComponent(anchor) : "");
  }

  /** What a hit's minutes are for: those of a cause are its first test's. */
  const FOR = { Symptom: "until fixed", Cause: "first test", Test: "to test", Repair: "to repair" };

  function minutes(value) {
    if (value === null || value === undefined) return "";
    if (value < 1 && value > 0) return `${Math.round(value * 60)} s`;
    const hours = Math.floor(value / 60);
    const rest = +(value % 60).toPrecision(4);
    return [hours ? `${hours} h` : "", rest || !hours ? `${rest} min` : ""].filter(Boolean).join(" ");
  }

  /** Words with those that were asked for underlined. */
  function marked(text, asked) {
    return text.split(WORD).map((part, n) => (n % 2 && asked(part) ? make("mark", "", part) : part));
  }

  /** The words of a text that were asked for. */
  function met(text, asked) {
    return new Set(text.toLowerCase().split(WORD).filter((part, n) => n % 2 && asked(part)));
  }

  function fits(card) {
    const vehicle = Backprobe.vehicle && Backprobe.vehicle();
    if (!card.fits || !card.fits.length) return "";
    if (!vehicle) return "on " + card.fits.join(", ");
    return (card.fits.includes(vehicle.name) ? "fits your " : "not for your ") + vehicle.name;
  }

  /** A symptom's plan: that of the chosen vehicle, where it has one of its own. */
  function planned(card) {
    const vehicle = Backprobe.vehicle && Backprobe.vehicle();
    const own = vehicle && (card.own || []).find(([name]) => name === vehicle.name);
    return own ? { minutes: own[1], next: { name: own[2], minutes: own[3] } } : card;
  }

  /** Of what people say, the two that have most of the words. */
  function best(said, asked) {
    const ranked = said.map((words, n) => [met(words, asked).size, -n, words]);
    return ranked.sort((a, b) => b[0] - a[0] || b[1] - a[1]).slice(0, 2).map(([, , words]) => words);
  }

  /** Minutes and what they are for. */
  function timed(kind, value) {
    const words = minutes(value);
    return words ? [words, make("small", "", " " + (FOR[kind] || "to do"))] : [];
  }

  function row(hit, asked) {
    const card = hit.card || {};
    const plan = planned(card);
    const symptom = hit.kind === "Symptom";
    const link = make("a", "", ...marked(hit.name, asked));
    link.href = encoded(hit.address, hit.kind);
    const main = make("div", "main", make("h2", "", link));
    const said = best(card.said || [], asked);
    if (said.length) main.append(make("p", "said", ...said.map((words) => make("q", "", ...marked(words, asked)))));
    const word = card.word ? make("strong", "word", card.word) : null;
    if (plan.next) main.append(make("p", "then", `Next: ${plan.next.name}, ${minutes(plan.next.minutes)}`, symptom ? word : null));
    const kind = WORKED.has(hit.kind) && word ? [hit.kind, word] : [hit.kind];
    const time = make("p", "minutes", ...timed(hit.kind, plan.minutes));
    return make("li", "hit", make("p", "kind", ...kind), main, make("p", "fits", fits(card)), time);
  }

  /** The part of a text around the words asked for that has most of them. */
  function around(text, asked) {
    const parts = text.split(WORD);
    const starts = [];
    for (let n = 0, at = 0; n < parts.length; at += parts[n++].length) if (n % 2 && asked(parts[n])) starts.push(at);
    const held = starts.map((start) => met(text.slice(start, start + AROUND * 1.5), asked).size);
    const from = Math.max((starts[held.indexOf(Math.max(...held))] || 0) - AROUND / 2, 0);
    const start = from && text.indexOf(" ", from) + 1;
    const end = start + AROUND * 2 < text.length ? text.lastIndexOf(" ", start + AROUND * 2) : text.length;
    return (start ? "… " : "") + text.slice(start, end > start ? end : text.length) + (end < text.length ? " …" : "");
  }

  /** Where name and sayings don't have the words, the text of the node shows them. */
  async function context(item, hit, document, asked) {
    const said = [hit.name, ...best((hit.card || {}).said || [], asked)].join(" ");
    if (ahead || met(said, asked).size > 1) return;
    const lines = await Backprobe.lines(document);
    const found = lines.map((text) => met(text, asked).size);
    const most = Math.max(0, ...found);
    if (most <= met(said, asked).size) return;
    const shown = around(lines[found.indexOf(most)], asked);
    item.querySelector("h2").after(make("p", "context", ...marked(shown, asked)));
  }

  /** Room for the keys and lists to come: hits that stand aren't to move from under a finger. */
  function reserve() {
    const choices = SIDES.slice(1).map((name) => at(name).parentElement);
    for (const part of [at("kinds"), ...choices.filter((choice) => choice.dataset.several)]) {
      if (part.hidden) part.classList.add("coming");
      part.hidden = false;
    }
  }

  /** Keys for the kinds, a list to choose from for functions and vehicles; each with its count. */
  function showSides(counts) {
    const kinds = at("kinds");
    if (!kinds) return;
    const found = counts.kind || [];
    const all = found.reduce((sum, [, n]) => sum + n, 0);
    kinds.hidden = !found.length && !keep.kind;
    kinds.classList.remove("coming");
    const first = (name) => (name === "Symptom" ? 1 : 0);
    const sorted = [...found].sort((a, b) => first(b[0]) - first(a[0]) || b[1] - a[1]);
    const keys = [["", "All", all], ...sorted.map(([name, n]) => [name, plural(name), n])];
    kinds.replaceChildren(
      ...keys.map(([value, words, n]) => {
        const button = key(`${words} ${n}`, () => narrow("kind", value).then(() => kinds.querySelector("[aria-pressed=true]").focus()));
        button.setAttribute("aria-pressed", String(value === (keep.kind || "")));
        return button;
      }),
    );
    for (const name of SIDES.slice(1)) {
      const choice = at(name);
      const rows = counts[name] || [];
      const box = choice.parentElement;
      box.hidden = !(rows.length && box.dataset.several) && !keep[name];
      box.classList.remove("coming");
      choice.replaceChildren(new Option(name === "function" ? "All functions" : "All vehicles", ""), ...rows.map(([value, n]) => new Option(`${value}: ${n}`, value)));
      choice.value = keep[name] || "";
    }
  }

  function own() {
    const vehicle = Backprobe.vehicle && Backprobe.vehicle();
    return vehicle ? vehicle.name : "";
  }

  /** Who chose a vehicle is shown what fits it, until all vehicles are asked for here. */
  function preset() {
    if (own()) keep.vehicle = own();
    else delete keep.vehicle;
  }

  function narrow(name, value) {
    if (value || (name === "vehicle" && own())) keep[name] = value;
    else delete keep[name];
    most = AT_ONCE;
    return ask(false);
  }

  function told(answer, total) {
    if (!field.value.trim()) return "";
    const mine = own() && keep.vehicle === own() ? ` for your ${own()}` : "";
    if (total) return `${total} found${mine}, best first.`;
    if (answer.asked.exact.length) return "Nothing found in these very words. Without the marks of quotation they may stand apart.";
    if (ahead && own()) return `Nothing found for your ${own()}. Try fewer words, or a part's name.`;
    return SIDES.some((name) => keep[name]) ? "Nothing found with these choices." : "Nothing found. Try fewer words, or a part's name.";
  }

  /** A word that may run from right to left keeps its marks where they are. */
  function alone(word) {
    return make("bdi", "", word);
  }

  function showInstead(instead) {
    const swapped = instead.filter(([, word]) => word);
    const words = swapped.flatMap(([word, other], n) => [n ? ", " : "Searched for ", make("b", "", other), " instead of ", make("q", "", alone(word))]);
    const lost = instead.filter(([, word]) => !word).flatMap(([word], n) => [n ? ", " : " Nothing here has ", make("q", "", alone(word))]);
    at("instead").replaceChildren(...words, swapped.length ? "." : "", ...lost, lost.length ? "." : "");
  }

  /** What may help where nothing was found: words of the base, its functions. */
  async function showNothing(total, mine) {
    const nothing = at("nothing");
    if (!nothing) return;
    nothing.hidden = !field.value.trim() || total > 0;
    const near = nothing.hidden ? [] : await Backprobe.nearest(field.value);
    if (mine !== turn) return;
    const keys = near.map((word) => key(word, () => ((field.value = word), ask(false), field.focus())));
    at("near").replaceChildren(...(keys.length ? ["The nearest words of the base: ", ...keys] : []));
  }

  /** Lets the browser draw what stands. */
  function drawn() {
    return new Promise((done) => setTimeout(done));
  }

  async function show(answer, mine) {
    const asked = await Backprobe.marker(answer.asked);
    if (mine !== turn) return;
    const items = answer.hits.map((hit) => row(hit, asked));
    showInstead(answer.asked.instead);
    if (!ahead && items.length) reserve();
    list.replaceChildren(...items);
    if (ahead) showAhead(answer);
    await drawn(); // the hits first, then what is told beside them
    if (mine !== turn) return;
    address(); // browsers fetch the page's picture anew with it, in the way of parts of the index
    answer.hits.forEach((hit, n) => void context(items[n], hit, answer.documents[n], asked));
    const { total, counts } = await answer.rest();
    if (mine !== turn) return;
    showSides(counts);
    count.textContent = told(answer, total);
    if (!ahead) at("more").hidden = total <= answer.hits.length;
    await showNothing(total, mine);
  }

  /** On the front page the symptoms make room for hits. */
  function showAhead(answer) {
    at("found").hidden = !field.value.trim();
    const all = at("more");
    all.hidden = !answer.hits.length;
    all.href = `${field.form.action.split("?")[0]}?q=${encodeURIComponent(field.value)}`;
  }

  const NONE = { hits: [], documents: [], asked: { terms: [], exact: [], instead: [], near: [] }, rest: async () => ({ total: 0, counts: {} }) };

  async function ask(typing) {
    const mine = ++turn;
    const query = field.value;
    showKept();
    try {
      const answer = query.trim() ? await Backprobe.search(query, { keep, most, typing }) : NONE;
      if (mine === turn) await show(answer, mine);
    } catch (error) {
      if (mine !== turn) return;
      address();
      count.textContent = `The search can't answer: ${error.message}.`;
    }
  }

  /** What was asked, where the next opening of this page finds it. */
  function address() {
    if (ahead) return;
    const query = field.value;
    const asked = new URLSearchParams(query ? [["q", query], ...Object.entries(keep)] : []);
    if (most > AT_ONCE) asked.set("most", String(most));
    if (query && location.search === `?${asked}`) return;
    try {
      history.replaceState(null, "", query ? `?${asked}` : location.pathname);
    } catch {
      // some browsers refuse this for files; the search works without
    }
  }

  /** Questions whose hits were opened, the latest first; on this device and nowhere else. */
  function kept() {
    try {
      const found = JSON.parse(localStorage.getItem(STORE) || "[]");
      return Array.isArray(found) ? found.filter((words) => typeof words === "string").slice(0, KEPT) : [];
    } catch {
      return [];
    }
  }

  function remember() {
    const words = field.value.trim().slice(0, 200);
    try {
      if (words) localStorage.setItem(STORE, JSON.stringify([words, ...kept().filter((other) => other !== words)].slice(0, KEPT)));
    } catch {
      // without storage nothing is remembered
    }
  }

  function forget() {
    try {
      localStorage.removeItem(STORE);
    } catch {
      // nothing was kept
    }
    showKept();
    field.focus();
  }

  function showKept() {
    const box = at("kept");
    if (!box) return;
    const found = field.value.trim() ? [] : kept();
    box.hidden = !found.length;
    const keys = found.map((words) => make("li", "", key(words, () => ((field.value = words), ask(false), field.focus()))));
    box.querySelector("ul").replaceChildren(...keys);
  }

  /** Who comes back from a hit stands on it again. */
  function leave(link) {
    remember();
    try {
      history.replaceState({ opened: link.getAttribute("href"), asked: field.value }, "");
    } catch {
      // the way back leads to the head of the list
    }
  }

  function comeBack(opened) {
    const link = [...list.querySelectorAll("h2 a")].find((other) => other.getAttribute("href") === opened);
    if (link) link.focus();
  }

  function move(event) {
    const links = [field, ...list.querySelectorAll("h2 a")];
    const here = links.indexOf(document.activeElement);
    if (here < 0 || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Escape" && here) field.focus();
    else if (event.key === "Escape" && field.value) (field.value = ""), void ask(true);
    else if (event.key === "ArrowDown" && links[here + 1]) links[here + 1].focus();
    else if (event.key === "ArrowUp" && here) links[here - 1].focus();
    else return;
    event.preventDefault();
  }

  let waiting = 0;
  field.addEventListener("input", () => {
    clearTimeout(waiting);
    most = AT_ONCE;
    waiting = setTimeout(() => ask(true), 80);
  });
  field.form.addEventListener("submit", async (event) => {
    clearTimeout(waiting);
    remember();
    if (ahead) return;
    event.preventDefault();
    await ask(false);
    // the list is shown, and another Enter opens the first hit: none is opened unseen
    const first = list.querySelector("h2 a");
    if (first) first.focus();
  });
  list.addEventListener("click", (event) => {
    const link = event.target.closest("a");
    if (link) leave(link);
  });
  document.addEventListener("keydown", move);
  document.addEventListener("backprobe:vehicle", () => (preset(), void ask(false)));
  preset();

  const { opened } = history.state || {};
  if (ahead) {
    at("more").addEventListener("click", (event) => leave(event.currentTarget));
    if (field.value.trim()) void ask(true).then(() => opened && comeBack(opened));
    return;
  }
  for (const name of SIDES.slice(1)) at(name).addEventListener("change", (event) => void narrow(name, event.target.value));
  at("more").addEventListener("click", () => ((most += 20), void ask(false)));
  at("forget").addEventListener("click", forget);
  const asked = new URLSearchParams(location.search);
  field.value = asked.get("q") || "";
  for (const name of SIDES) if (asked.get(name) || (name === "vehicle" && asked.has(name) && own())) keep[name] = asked.get(name);
  most = Math.min(Math.max(Math.trunc(Number(asked.get("most"))) || 0, AT_ONCE), LONGEST);
  if (field.value) void ask(false).then(() => opened && comeBack(opened));
  else (showKept(), field.focus());
})();

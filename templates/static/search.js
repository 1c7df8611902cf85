/** The search page: what is typed becomes hits, best first. Ranking is `Backprobe.find`'s. */
(function () {
  "use strict";
  const Backprobe = (window.Backprobe = window.Backprobe || {});
  const field = document.querySelector("[data-search]");
  const list = document.querySelector("[data-hits]");
  const count = document.querySelector("[data-count]");
  const kinds = document.querySelector("[data-kinds]");
  const root = document.documentElement.dataset.root;
  const MOST = 50;
  // What is done with the hands: there the strongest signal word is worth a glance.
  const WORKED = new Set(["Test", "Repair", "Access"]);
  let kind = "";
  let turn = 0;

  /** An element with a class, and children or words in it. */
  function make(name, className, ...inside) {
    const element = document.createElement(name);
    if (className) element.className = className;
    element.append(...inside.filter((part) => part !== null && part !== ""));
    return element;
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

  function minutes(value) {
    if (value === null || value === undefined) return "";
    if (value < 1 && value > 0) return `${Math.round(value * 60)} s`;
    const hours = Math.floor(value / 60);
    const rest = +(value % 60).toPrecision(4);
    return [hours ? `${hours} h` : "", rest || !hours ? `${rest} min` : ""].filter(Boolean).join(" ");
  }

  /** Words with those that were asked for underlined. */
  function marked(text, stems) {
    const parts = text.split(/([\p{L}\p{N}.]+)/u);
    return parts.map((part) => {
      const word = part.toLowerCase();
      const hit = stems.some((s) => s.length > 1 && word.startsWith(s.length > 4 ? s.slice(0, -1) : s));
      return hit ? make("mark", "", part) : part;
    });
  }

  function fits(card) {
    const vehicle = Backprobe.vehicle && Backprobe.vehicle();
    if (!card.fits || !card.fits.length) return "";
    if (!vehicle) return "on " + card.fits.join(", ");
    return (card.fits.includes(vehicle.name) ? "fits your " : "not for your ") + vehicle.name;
  }

  function row(hit, asked) {
    const card = hit.card || {};
    const link = make("a", "", ...marked(hit.name, asked));
    link.href = encoded(hit.address, hit.kind);
    const main = make("div", "main", make("h2", "", link));
    const said = (card.said || []).slice(0, 2);
    if (said.length) main.append(make("p", "said", ...said.map((words) => make("q", "", ...marked(words, asked)))));
    if (card.next) main.append(make("p", "then", `Next: ${card.next.name}, ${minutes(card.next.minutes)}`));
    const kindWords = card.word && WORKED.has(hit.kind) ? [hit.kind, make("strong", "word", card.word)] : [hit.kind];
    return make("li", "hit", make("p", "kind", ...kindWords), main, make("p", "fits", fits(card)), make("p", "minutes", minutes(card.minutes)));
  }

  function showKinds(hits, query, asked) {
    const found = new Map();
    for (const hit of hits) found.set(hit.kind, (found.get(hit.kind) || 0) + 1);
    const keys = [["", "All", hits.length], ...[...found].map(([name, n]) => [name, name, n])];
    kinds.hidden = found.size < 2;
    kinds.replaceChildren(
      ...keys.map(([value, words, n]) => {
        const key = make("button", "", value ? `${plural(words)} ${n}` : `${words} ${n}`);
        key.type = "button";
        key.setAttribute("aria-pressed", String(value === kind));
        key.addEventListener("click", () => {
          kind = value;
          show(hits, query, asked);
          kinds.querySelector("[aria-pressed=true]").focus();
        });
        return key;
      }),
    );
  }

  function show(hits, query, asked) {
    if (kind && !hits.some((hit) => hit.kind === kind)) kind = "";
    const shown = kind ? hits.filter((hit) => hit.kind === kind) : hits;
    showKinds(hits, query, asked);
    list.replaceChildren(...shown.map((hit) => row(hit, asked)));
    count.textContent = query.trim() ? (hits.length ? `${shown.length}${hits.length === MOST ? " and more" : ""} found, best first.` : "Nothing found. Try fewer words, or a part's name.") : "";
  }

  async function ask() {
    const mine = ++turn;
    const query = field.value;
    keep(query);
    const hits = query.trim() ? await Backprobe.find(query, { kind: null, most: MOST }) : [];
    const asked = query.trim() ? await Backprobe.asked(query) : [];
    if (mine === turn) show(hits, query, asked);
  }

  function keep(query) {
    try {
      history.replaceState(null, "", query ? "?q=" + encodeURIComponent(query) : location.pathname);
    } catch {
      // some browsers refuse this for files; the search works without
    }
  }

  function move(event) {
    const links = [field, ...list.querySelectorAll("h2 a")];
    const at = links.indexOf(document.activeElement);
    const next = { ArrowDown: at + 1, ArrowUp: at - 1 }[event.key];
    if (at < 0 || next === undefined || !links[next]) return;
    event.preventDefault();
    links[next].focus();
  }

  let waiting = 0;
  field.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(ask, 80);
  });
  field.form.addEventListener("submit", async (event) => {
    event.preventDefault();
    clearTimeout(waiting);
    await ask();
    const first = list.querySelector("h2 a");
    if (first) first.click();
  });
  document.addEventListener("keydown", move);
  document.addEventListener("backprobe:vehicle", () => void ask());

  field.value = new URLSearchParams(location.search).get("q") || "";
  if (field.value) void ask();
  else field.focus();
})();

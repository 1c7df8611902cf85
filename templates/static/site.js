/**
 * The chosen vehicle, kept on this device, and the key that leads to the search.
 * Everything here adds to pages that read well without it.
 */
(function () {
  "use strict";
  const Backprobe = (window.Backprobe = window.Backprobe || {});
  const STORE = "backprobe.vehicle";
  const FROM = "backprobe.from";
  const JOB = "backprobe.job";

  const tape = document.querySelector("[data-known]");
  const keys = tape ? tape.dataset.known.split(" ") : [];
  const names = tape ? JSON.parse(tape.dataset.names || "[]") : [];

  /** The vehicle of a key as the page names it, whatever name was stored with it. */
  function known(key) {
    const place = keys.indexOf(key);
    return place < 0 ? null : { key, name: names[place] };
  }

  /** @returns {{key: string, name: string} | null} the chosen vehicle, if this base knows it */
  Backprobe.vehicle = function () {
    try {
      const kept = JSON.parse(localStorage.getItem(STORE) || "null");
      return kept && known(kept.key);
    } catch {
      return null;
    }
  };

  /** Choose a vehicle, or none with an empty key. */
  Backprobe.choose = function (key) {
    const name = key && known(key) ? known(key).name : "";
    try {
      if (key) localStorage.setItem(STORE, JSON.stringify({ key, name }));
      else localStorage.removeItem(STORE);
    } catch {
      // without storage the choice lasts as long as the page
    }
    show(key ? { key, name } : null);
  };

  function each(selector, act) {
    for (const found of document.querySelectorAll(selector)) act(found);
  }

  function show(vehicle) {
    each("[data-known]", (tape) => {
      if (!tape.dataset.all) tape.dataset.all = tape.textContent;
      tape.textContent = vehicle ? vehicle.name : tape.dataset.all;
    });
    each(".seen[data-alone=no]", (seen) => (seen.hidden = !vehicle || seen.dataset.vehicle !== vehicle.key));
    each(".where", (box) => showSpots(box, vehicle));
    each("[data-only]", (mark) => {
      const fits = vehicle && within(mark.dataset.only, vehicle);
      const silent = !vehicle || (fits && mark.dataset.silent === "fits");
      mark.textContent = silent ? "" : (fits ? "fits your " : "not for your ") + vehicle.name;
    });
    each("[data-limit]", (part) => (part.hidden = Boolean(vehicle) && !within(part.dataset.limit, vehicle)));
    each(".loom", (loom) => (loom.hidden = [...loom.querySelectorAll("li")].every((symptom) => symptom.hidden)));
    each(".loom li", (symptom) => showOwn(symptom, vehicle));
    each("[data-off]", (words) => {
      const off = document.querySelectorAll("[data-limit][hidden]").length;
      words.textContent = off ? `Not shown: ${off} symptom${off > 1 ? "s" : ""} that ${off > 1 ? "are" : "is"} not for your ${vehicle.name}.` : "";
    });
    each(".causes", (list) => {
      const shown = [...list.children].filter((cause) => !cause.hidden);
      for (const cause of list.children) cause.classList.toggle("end", cause === shown.at(-1));
    });
    each("[data-folds]", (test) => fold(test, Boolean(vehicle) && !within(test.dataset.folds, vehicle)));
    chosen = vehicle;
    Backprobe.putAside();
    each("[data-choose]", (key) => {
      key.hidden = false;
      key.setAttribute("aria-pressed", String(key.dataset.choose === (vehicle ? vehicle.key : "")));
    });
    document.dispatchEvent(new CustomEvent("backprobe:vehicle", { detail: vehicle }));
  }

  /** Causes and minutes of a symptom: the chosen vehicle's, where its plan is another. */
  function showOwn(symptom, vehicle) {
    const counts = [...symptom.querySelectorAll(".count")];
    const own = vehicle && counts.find((count) => count.dataset.own === vehicle.key);
    for (const count of counts) count.hidden = own ? count !== own : Boolean(count.dataset.own);
  }

  let chosen = null;

  /** Steps and findings for other vehicles are put away, but for a finding that was pressed. */
  Backprobe.putAside = function () {
    const parts = [...document.querySelectorAll("[data-aside]")];
    for (const list of new Set(parts.map((part) => part.parentElement))) putAside(list);
  };

  function putAside(list) {
    const parts = [...list.children].filter((part) => part.dataset.aside);
    const others = parts.filter((part) => chosen && !within(part.dataset.aside, chosen) && !part.classList.contains("chosen"));
    const opened = list.classList.contains("opened");
    for (const part of parts) part.hidden = !opened && others.includes(part);
    if (document.body.matches(".paper")) return; // a sheet says in its head what is left out
    const line = asideLine(list);
    line.hidden = !others.length;
    if (!others.length) return;
    const what = list.matches(".findings") ? "finding" : "step";
    line.firstChild.textContent = `Not for your ${chosen.name}: ${others.length} ${what}${others.length > 1 ? "s" : ""}. `;
    line.lastChild.textContent = opened ? "Put away again" : `Show ${others.length > 1 ? "them" : "it"} all the same`;
    line.lastChild.setAttribute("aria-expanded", String(opened));
  }

  /** The line below a list that says how many are put away. */
  function asideLine(list) {
    const below = list.nextElementSibling;
    if (below && below.matches(".aside-line")) return below;
    const line = document.createElement("p");
    line.className = "small aside-line";
    const key = document.createElement("button");
    key.type = "button";
    key.className = "key";
    key.addEventListener("click", () => {
      list.classList.toggle("opened");
      putAside(list);
    });
    line.append(document.createTextNode(""), key);
    list.after(line);
    return line;
  }

  function within(keys, vehicle) {
    return keys.split(" ").includes(vehicle.key);
  }

  /** A test that isn't for the chosen vehicle keeps its head, and a key that opens it all the same. */
  function fold(test, unfit) {
    test.classList.toggle("unfit", unfit);
    const head = test.querySelector(":scope > .fits");
    if (!head || head.querySelector(".anyway")) return;
    const key = document.createElement("button");
    key.type = "button";
    key.className = "key anyway";
    key.textContent = "Show it all the same";
    key.addEventListener("click", () => test.classList.remove("unfit"));
    head.append(key);
  }

  /** The chosen vehicle's places alone. Another vehicle's pins are never shown for it: where it has no place, a word. */
  function showSpots(box, vehicle) {
    const spots = [...box.querySelectorAll(".spot")];
    const own = vehicle && spots.some((spot) => within(spot.dataset.vehicles, vehicle));
    for (const spot of spots) spot.hidden = Boolean(vehicle) && !within(spot.dataset.vehicles, vehicle) && Boolean(own || spot.dataset.vehicles);
    const word = box.querySelector(".elsewhere");
    word.textContent =
      vehicle && !own
        ? "No wiring of your " + vehicle.name + " is drawn for this test: take pin and colour from the maker's diagram."
        : "";
  }

  document.addEventListener("click", (event) => {
    const key = event.target.closest("[data-choose]");
    if (key) {
      Backprobe.choose(key.dataset.choose);
      wayBack();
    }
    if (event.target.closest(".chosen a")) put(sessionStorage, FROM, { href: location.href, name: document.title });
  });

  function put(store, name, value) {
    try {
      if (value) store.setItem(name, JSON.stringify(value));
      else store.removeItem(name);
    } catch {
      // without storage nothing is offered later
    }
  }

  /** What was stored under a name, if it is an address of this base. */
  function got(store, name) {
    try {
      const kept = JSON.parse(store.getItem(name) || "null");
      const root = new URL(document.documentElement.dataset.root || "./", location.href).href;
      return kept && typeof kept.href === "string" && kept.href.startsWith(root) ? kept : null;
    } catch {
      return null;
    }
  }

  function link(words, href) {
    const made = document.createElement("a");
    made.className = "key";
    made.href = href;
    made.textContent = words;
    return made;
  }

  /** Who came to choose a vehicle is led back to where that was asked. */
  function wayBack() {
    const from = got(sessionStorage, FROM);
    const list = document.querySelector("[data-back-here]");
    if (!from || !list || list.firstChild) return;
    list.append(link("Back to " + from.name, from.href));
    list.hidden = false;
  }

  /** The walk that goes on: kept on this device until it is fixed or put away, and offered on every other page. */
  Backprobe.job = (href, name) => put(localStorage, JOB, href ? { href, name } : null);

  function lead(holds, job) {
    const line = document.createElement("p");
    line.className = "all";
    line.append(link("Back to the job: " + job.name, job.href));
    holds.append(line);
    return line;
  }

  function offerJob() {
    const job = got(localStorage, JOB);
    const here = job && job.href.split("#")[0] === location.href.split("#")[0];
    if (!job || (here && location.hash.startsWith("#walk="))) return;
    const bar = document.createElement("div");
    bar.className = "open-job";
    // a drawing stands far down its page: from there too a key leads back
    const leads = [...document.querySelectorAll(".drawn > .holds")].map((holds) => lead(holds, job));
    const away = document.createElement("button");
    away.type = "button";
    away.className = "key";
    away.textContent = "Put it away";
    away.addEventListener("click", () => {
      Backprobe.job("");
      for (const part of [bar, ...leads]) part.remove();
    });
    const words = document.createElement("p");
    words.textContent = "A job is open: " + job.name;
    bar.append(words, link("Go on with it", job.href), away);
    if (here) window.addEventListener("hashchange", () => bar.remove());
    bar.setAttribute("role", "region");
    bar.setAttribute("aria-label", "Open job");
    document.querySelector("main").before(bar);
  }

  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input, textarea, select, [contenteditable]")) return;
    const field = document.querySelector("[data-search]");
    event.preventDefault();
    if (field) field.focus();
    else document.querySelector(".look-up").click();
  });

  /** What an address leads to may stand in something folded. */
  function unfold() {
    const target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    for (let fold = target && target.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    if (target) target.scrollIntoView();
  }

  each("[data-scripted]", (part) => (part.hidden = false));
  window.addEventListener("hashchange", unfold);
  show(Backprobe.vehicle());
  offerJob();
  unfold();

  const page = document.documentElement.dataset;
  if (page.keep && location.protocol !== "file:" && navigator.serviceWorker) {
    window.addEventListener("load", () => {
      const script = document.createElement("script");
      script.src = (page.root || "") + "static/offline.js";
      document.head.append(script);
    });
  }
})();

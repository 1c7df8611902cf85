/**
 * The chosen vehicle, kept on this device, and the key that leads to the search.
 * Everything here adds to pages that read well without it.
 */
(function () {
  "use strict";
  const Backprobe = (window.Backprobe = window.Backprobe || {});
  const STORE = "backprobe.vehicle";

  /** @returns {{key: string, name: string} | null} the chosen vehicle, if this base knows it */
  Backprobe.vehicle = function () {
    const tape = document.querySelector("[data-known]");
    const known = tape ? tape.dataset.known.split(" ") : [];
    try {
      const kept = JSON.parse(localStorage.getItem(STORE) || "null");
      return kept && known.includes(kept.key) ? kept : null;
    } catch {
      return null;
    }
  };

  /** Choose a vehicle, or none with an empty key. */
  Backprobe.choose = function (key, name) {
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
    each(".causes", (list) => {
      const shown = [...list.children].filter((cause) => !cause.hidden);
      for (const cause of list.children) cause.classList.toggle("end", cause === shown.at(-1));
    });
    each("[data-folds]", (test) => fold(test, Boolean(vehicle) && !within(test.dataset.folds, vehicle)));
    each("[data-choose]", (key) => {
      key.hidden = false;
      key.setAttribute("aria-pressed", String(key.dataset.choose === (vehicle ? vehicle.key : "")));
    });
    document.dispatchEvent(new CustomEvent("backprobe:vehicle", { detail: vehicle }));
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
    if (key) Backprobe.choose(key.dataset.choose, key.dataset.name || "");
  });

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

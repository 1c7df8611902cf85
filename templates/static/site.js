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

  function each(selector, act, within) {
    for (const found of (within || document).querySelectorAll(selector)) act(found);
  }

  function show(vehicle) {
    each("[data-known]", (tape) => {
      if (!tape.dataset.all) tape.dataset.all = tape.textContent;
      tape.textContent = vehicle ? vehicle.name : tape.dataset.all;
    });
    each(".seen[data-alone=no]", (seen) => (seen.hidden = !vehicle || seen.dataset.vehicle !== vehicle.key));
    each(".where", (box) => showSpots(box, vehicle));
    each("[data-only]", (mark) => {
      const fits = vehicle && mark.dataset.only.split(" ").includes(vehicle.key);
      mark.textContent = vehicle ? (fits ? "fits your " : "not for your ") + vehicle.name : "";
    });
    each("[data-choose]", (key) => {
      key.hidden = false;
      key.setAttribute("aria-pressed", String(key.dataset.choose === (vehicle ? vehicle.key : "")));
    });
    document.dispatchEvent(new CustomEvent("backprobe:vehicle", { detail: vehicle }));
  }

  function on(spot, vehicle) {
    return spot.dataset.vehicles.split(" ").includes(vehicle.key);
  }

  /** The chosen vehicle's places alone. Another vehicle's pins are never shown for it: where it has no place, a word. */
  function showSpots(box, vehicle) {
    const spots = [...box.querySelectorAll(".spot")];
    const own = vehicle && spots.some((spot) => on(spot, vehicle));
    for (const spot of spots) spot.hidden = Boolean(vehicle) && !on(spot, vehicle) && Boolean(own || spot.dataset.vehicles);
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

  window.addEventListener("hashchange", unfold);
  show(Backprobe.vehicle());
  unfold();
})();

/**
 * Drawn circuits: the reader picks a position and a fault and sees what was computed for them.
 *
 * Every picture was solved when the site was written; this script fetches a circuit's pictures when they are
 * first asked for, as a script (pages opened from a disk may load nothing else), and puts one on the drawing.
 */
(function (root) {
  "use strict";

  /**
   * A list of numbers by place: mA of each wire, 10 mV at each wire's start and end (null: floating), mA of each
   * contact (null: open), a word's number for each part, mA of each load.
   * @typedef {(number | null)[]} Picture
   * @typedef {{wires: string[], contacts: string[], parts: string[], kinds: string[], loads: string[], words: string[],
   *   levels: string[], positions: string[], faults: {wrong: string[], state: string}[],
   *   healthy: Picture[], changes: Picture[], which: (number[] | null)[]}} Circuit
   */

  const Backprobe = (root.Backprobe = root.Backprobe || {});
  /** @type {Map<string, Circuit>} */
  const taken = new Map();

  /** Called by each circuit's file. @param {string} slug @param {Circuit} circuit */
  Backprobe.wired = (slug, circuit) => taken.set(slug, circuit);

  /** One picture, or null where there is none to show. @param {Circuit} circuit @returns {Picture | null} */
  function picture(circuit, fault, position) {
    const which = circuit.which[fault];
    if (!which) return null;
    const seen = circuit.healthy[position].slice();
    const changed = circuit.changes[which[position]];
    for (let i = 0; i < changed.length; i += 2) seen[changed[i]] = changed[i + 1];
    return seen;
  }

  /** Where each kind of number begins in a picture. @param {Circuit} circuit */
  function places(circuit) {
    const volts = circuit.wires.length;
    const contacts = 3 * volts;
    const states = contacts + circuit.contacts.length;
    return { volts, contacts, states, loads: states + circuit.parts.length };
  }

  /** @param {number} milli */
  function amperes(milli) {
    const size = Math.abs(milli);
    if (size < 100) return size ? `${size} mA` : "0 A";
    const [step, digits] = size < 10000 ? [10, 2] : [100, 1];
    const steps = Math.floor((size + step / 2) / step);
    return `${Math.floor((steps * step) / 1000)}.${String(steps % (1000 / step)).padStart(digits, "0")} A`;
  }

  /** @param {number | null} hundredths of a volt */
  function volts(hundredths) {
    if (hundredths === null) return "floating";
    const size = Math.abs(hundredths);
    const tenths = Math.floor((size + 5) / 10);
    const whole = size < 100 ? `0.${String(size).padStart(2, "0")}` : `${Math.floor(tenths / 10)}.${tenths % 10}`;
    return `${hundredths < 0 ? "-" : ""}${whole} V`;
  }

  /** True for what moves, glows or heats at all. @param {string} word */
  function works(word) {
    return !["still", "dark", "cold", "clear"].includes(word.split(" ")[0]);
  }

  /** What everything does, in words, what works first. @param {Circuit} circuit @param {Picture} seen */
  function told(circuit, seen) {
    const at = places(circuit);
    const does = circuit.parts.map((name, i) => ({ name, kind: circuit.kinds[i], word: circuit.words[seen[at.states + i]] }));
    const loads = does.filter((part) => part.kind === "load");
    const said = loads
      .filter((part) => works(part.word))
      .map((part) => `${part.name} ${part.word}, ${amperes(seen[at.loads + circuit.loads.indexOf(part.name)])}`);
    said.push(...together(loads.filter((part) => !works(part.word)).map((part) => [part.word, part.name])));
    for (const part of does) {
      if (part.kind === "output") said.push(`${part.name} ${part.word}: stated (not solved)`);
      if (part.kind === "relay") said.push(`${part.name} ${part.word || "at rest"}`);
    }
    said.push(...together(does.filter((p) => p.kind === "fuse").map((part) => [part.word || "whole", part.name])));
    return said.join("; ") + ".";
  }

  /** Names with the same word, together. @param {[string, string][]} pairs */
  function together(pairs) {
    const groups = new Map();
    for (const [word, name] of pairs) groups.set(word, [...(groups.get(word) || []), name]);
    return [...groups].map(([word, names]) => `${names.join(", ")} ${word}`);
  }

  Backprobe.wiring = { taken, picture, told, volts, amperes };
  if (typeof document === "undefined") return;

  // From here on the page.

  /** @param {string} slug @returns {Promise<Circuit>} */
  function fetchCircuit(slug) {
    if (taken.has(slug)) return Promise.resolve(taken.get(slug));
    return new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = `${document.documentElement.dataset.root || ""}wiring/${encodeURIComponent(slug)}.js`;
      script.onload = () => (taken.has(slug) ? resolve(taken.get(slug)) : reject(new Error("empty")));
      script.onerror = () => reject(new Error("missing"));
      document.head.appendChild(script);
    });
  }

  function each(box, selector, act) {
    box.querySelectorAll(selector).forEach(act);
  }

  /** @param {Element} shape @param {number | null} amps */
  function flow(shape, amps) {
    shape.classList.toggle("live", Boolean(amps));
    shape.classList.toggle("back", amps < 0);
  }

  /** Put a picture on a drawing; without one, nothing flows and nothing is told. */
  function draw(box, circuit, fault, seen) {
    const at = places(circuit);
    const wrong = new Set(circuit.faults[fault].wrong);
    const wire = new Map(circuit.wires.map((name, i) => [name, i]));
    each(box, ".wire, .way", (shape) => {
      flow(shape, seen && seen[wire.get(shape.dataset.wire)]);
      if (shape.matches(".way")) shape.classList.toggle("wrong", wrong.has(shape.dataset.wire));
    });
    each(box, ".joint:not(.pass)", (shape) => {
      const amps = seen && seen[at.contacts + circuit.contacts.indexOf(shape.dataset.key)];
      shape.classList.toggle("shut", amps !== null);
      flow(shape, amps);
    });
    each(box, ".plate", (shape) => plate(shape, seen, at.volts + 2 * wire.get(shape.dataset.wire)));
    each(box, ".part", (shape) => part(shape, circuit, seen, at.states, wrong));
    each(box, ".disc", (shape) => shape.classList.toggle("wrong", wrong.has(shape.dataset.pin)));
  }

  /** At a wire's lower end the voltage always shows, at its upper end where it is another. */
  function plate(shape, seen, first) {
    if (!seen) return shape.setAttribute("display", "none");
    const ends = [seen[first], seen[first + 1]];
    const differ = ends[0] !== ends[1] && (ends[0] === null || ends[1] === null || Math.abs(ends[0] - ends[1]) >= 5);
    if (shape.hasAttribute("data-low") || differ) shape.removeAttribute("display");
    else shape.setAttribute("display", "none");
    shape.querySelector("text").textContent = volts(ends[Number(shape.dataset.end)]);
  }

  function part(shape, circuit, seen, first, wrong) {
    const place = circuit.parts.indexOf(shape.dataset.part);
    const word = seen && place >= 0 ? seen[first + place] : null;
    for (const name of [...shape.classList]) if (name.startsWith("is-")) shape.classList.remove(name);
    if (word !== null && circuit.levels[word]) shape.classList.add("is-" + circuit.levels[word]);
    shape.querySelector(".state").textContent = word === null ? "" : circuit.words[word];
    shape.classList.toggle("wrong", wrong.has(shape.dataset.part));
  }

  const SHORT =
    "this fault shorts a feed that no fuse protects, and the wire can set fire to what it touches. " +
    "No current and no voltage is given for it: don't measure there with the battery connected.";
  const UNSETTLED = "this fault leaves no settled state: nothing is given for it.";

  function say(box, circuit, fault, position, seen) {
    const state = circuit.faults[fault].state;
    box.querySelector(".position").textContent = circuit.positions[position];
    box.querySelector(".told").textContent = seen ? told(circuit, seen) : state === "shorted" ? SHORT : UNSETTLED;
    const told_ = box.querySelector(".with");
    const key = box.querySelector(`[data-fault="${fault}"]`);
    told_.hidden = !fault;
    told_.textContent = fault && key ? "With a fault put in: " + key.dataset.said : "";
    box.querySelector(".now").classList.toggle("hot", state === "shorted");
  }

  function press(box, name, number) {
    each(box, `[data-${name}]`, (key) => key.setAttribute("aria-pressed", String(Number(key.dataset[name]) === number)));
  }

  /** True where the keys stand at the drawing's side. */
  function atSide(box) {
    const [keys, sketch] = [".holds", ".sketch"].map((part) => box.querySelector(part).getBoundingClientRect());
    return keys.left >= sketch.right - 1;
  }

  /** Faults to choose from would hide the drawing that stands below them. */
  function putAway(box) {
    const fold = box.querySelector(".faults");
    fold.open = false;
    fold.querySelector("summary").focus({ preventScroll: true });
    box.scrollIntoView();
  }

  /** @param {HTMLElement} box */
  function start(box) {
    const chosen = { fault: 0, position: Number(box.dataset.first) };
    const show = async () => {
      const { fault, position } = chosen;
      press(box, "position", position);
      press(box, "fault", fault);
      try {
        const circuit = await fetchCircuit(box.dataset.wiring);
        if (fault !== chosen.fault || position !== chosen.position) return;
        const seen = picture(circuit, fault, position);
        draw(box, circuit, fault, seen);
        say(box, circuit, fault, position, seen);
      } catch {
        box.querySelector(".told").textContent = "the file with this circuit's pictures is missing: load the page again.";
      }
    };
    each(box, ".ask-hold, .positions, .faults", (element) => (element.hidden = false));
    box.addEventListener("click", (event) => {
      const key = event.target.closest("[data-position], [data-fault]");
      if (!key) return;
      if (key.dataset.position) chosen.position = Number(key.dataset.position);
      if (key.dataset.fault) chosen.fault = Number(key.dataset.fault);
      if (key.dataset.fault && !atSide(box)) putAway(box);
      show();
    });
    each(box, ".faults", (fold) => (fold.open = atSide(box)));
    asked(box, chosen, show);
    aim(box.querySelector(".sketch"));
  }

  /** A link may ask for a position of the circuit that it leads to. */
  function asked(box, chosen, show) {
    const wanted = new URLSearchParams(location.search).get("position");
    if (wanted === null || decodeURIComponent(location.hash.slice(1)) !== box.dataset.anchor) return;
    const key = [...box.querySelectorAll("[data-position]")].find((k) => k.textContent === wanted);
    if (!key || Number(key.dataset.position) === chosen.position) return;
    chosen.position = Number(key.dataset.position);
    show();
  }

  /** A drawing wider than its place shows first what carries current. */
  function aim(sketch) {
    const live = sketch.querySelector(".wire.live .core") || sketch.querySelector(".core");
    if (!live || sketch.scrollWidth <= sketch.clientWidth) return;
    const [wire, place] = [live.getBoundingClientRect(), sketch.getBoundingClientRect()];
    sketch.scrollLeft += (wire.left + wire.right) / 2 - (place.left + place.right) / 2;
  }

  each(document, ".drawn[data-first]", start);
})(typeof window === "undefined" ? globalThis : window);

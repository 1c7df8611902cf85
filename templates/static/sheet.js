/**
 * The key that prints this sheet; without script the browser's own command prints it alike.
 * For a chosen vehicle what is marked for others is left out, and a line says how much.
 */
(function () {
  "use strict";
  const KINDS = ["test", "repair", "cause", "finding", "step"];
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const vehicle = window.Backprobe && window.Backprobe.vehicle();

  const fits = (keys) => !vehicle || !keys || keys.split(" ").includes(vehicle.key);

  function leaveOut() {
    for (const part of all("[data-leave]")) part.hidden = !fits(part.dataset.leave);
    for (const part of all(".cross, .way")) {
      const letters = all("b", part);
      if (!letters.length || letters.some((letter) => !letter.hidden)) continue;
      if (part.matches(".way")) part.hidden = true;
      else part.textContent = "clears nothing";
    }
    begin();
    for (const lead of all("a.square")) lead.classList.toggle("gone", Boolean(target(lead) && target(lead).hidden));
  }

  /** Where the plan's first part is left out, the first that is printed comes first. */
  function begin() {
    const lead = document.querySelector(".sum a.square");
    const part = document.querySelector(".part:not([hidden])");
    if (lead && part && target(lead) && target(lead).hidden) leadTo(lead, part);
  }

  function leadTo(lead, part) {
    lead.hash = part.id;
    lead.textContent = part.querySelector(".square").textContent;
  }

  const target = (lead) => document.getElementById(lead.hash.slice(1));

  /** The steps of an access stand with the first part printed that needs it. */
  function moveSteps() {
    for (const how of all(".how")) {
      const uses = all(".first[data-access]").filter((use) => use.dataset.access === how.parentElement.dataset.access);
      const home = uses.find((use) => !use.closest("[hidden]"));
      if (!home || home === how.parentElement) continue;
      home.append(how);
      for (const use of uses) stepsAt(use, home);
    }
  }

  function stepsAt(use, home) {
    const said = use.querySelector(".steps-at");
    const part = home.closest(".part");
    if (!said) return;
    said.hidden = use === home;
    leadTo(said.querySelector("a"), part);
  }

  /** How much of each kind is left out; what stands in something left out isn't counted again. */
  function counted() {
    const out = all("[data-leave][hidden], [data-aside][hidden]").filter((part) => !part.parentElement.closest("[data-leave][hidden]"));
    const kinds = out.map((part) => part.dataset.what || "step");
    const words = KINDS.map((kind) => [kind, kinds.filter((one) => one === kind).length]).filter(([, count]) => count);
    return { many: words.reduce((sum, [, count]) => sum + count, 0), words: words.map(([kind, count]) => `${count} ${kind}${count > 1 ? "s" : ""}`) };
  }

  function tell() {
    const line = document.querySelector(".left-out");
    if (!line || !vehicle) return;
    const { many, words } = counted();
    const said = words.length > 1 ? `${words.slice(0, -1).join(", ")} and ${words.at(-1)}` : words[0];
    const told = [];
    if (!fits(line.dataset.whole)) told.push(`Not for the ${vehicle.name}: nothing of this sheet is written for it.`);
    if (many) told.push(`Left out: ${said} that ${many > 1 ? "are" : "is"} not for the ${vehicle.name}.`);
    if (all("a.gone").some((lead) => !lead.closest("[hidden]"))) told.push("A number struck out leads to a part left out: go on with another that speaks about a cause left.");
    line.textContent = told.join(" ");
    line.hidden = !told.length;
  }

  /** Order and minutes are those for all vehicles: said where the chosen one has its own. */
  function planOf() {
    for (const words of vehicle ? all(".plan-of") : []) {
      const own = words.dataset.ways.split(" ").includes(vehicle.key);
      words.textContent = own ? `; order and minutes are those for all vehicles, the ${vehicle.name}'s own stand on the page` : "";
    }
  }

  const whole = document.querySelector(".left-out");
  if (vehicle && whole && fits(whole.dataset.whole)) {
    leaveOut();
    moveSteps();
  }
  tell();
  planOf();
  const key = document.querySelector("[data-print]");
  if (!key) return;
  key.hidden = false;
  key.addEventListener("click", () => window.print());
})();

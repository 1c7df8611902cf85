"use strict";
// Plans what is asked on standard input, for a comparison with another planner.
// In: [[data, [[place, isolate], ...]], ...]; out: for each question the plan with its steps, each once.
const { readFileSync } = require("node:fs");
const { Hunt } = require("../../templates/static/isolate.js");

/** A plan as lists; whole numbers as text, since they may be BigInts. */
function listed(plan) {
  const steps = plan.first ? [plan.first] : [];
  const places = new Map(steps.map((step) => [step, 0]));
  const place = (step) => {
    if (!step) return -1;
    if (!places.has(step)) places.set(step, steps.push(step) - 1);
    return places.get(step);
  };
  const rows = [];
  for (const step of steps) {
    const leads = step.leads.map((lead) => [lead.left, place(lead.then())]);
    rows.push([step.kind, step.number, step.seconds, leads, step.leads.map((lead) => lead.share)]);
  }
  return { exact: plan.exact.map(String), seconds: plan.seconds, proved: plan.proved, gap: plan.gap, steps: rows };
}

const asked = JSON.parse(readFileSync(0, "utf8"));
const answers = asked.map(([data, questions]) => {
  const hunt = new Hunt(data);
  return questions.map(([place, isolate]) => {
    const started = process.hrtime.bigint();
    const plan = hunt.plan(place, isolate);
    const seconds = Number(process.hrtime.bigint() - started) / 1e9;
    return { ...listed(plan), took: seconds };
  });
});
process.stdout.write(JSON.stringify(answers));

"use strict";
const { test } = require("node:test");
const assert = require("node:assert/strict");
const { Hunt } = require("../../templates/static/isolate.js");

// Values are invented and worked out by hand; times in seconds.

/** Two causes, one test that parts them behind one access, a repair for each. */
function two(changes = {}) {
  return {
    weights: [3, 1], tests: [[10, [0], [[0], [1]], []]], repairs: [[60, [], [0], 0], [20, [], [1], 0]], access: [5],
    budget: 100, ...changes,
  };
}

test("a test comes before the repairs, with the access that isn't paid", () => {
  const plan = new Hunt(two()).plan();
  // 10 + 5, then 60 in three of four and 20 in one of four: 15 + 45 + 5
  assert.deepEqual([plan.seconds, plan.proved, plan.gap], [65, true, 0]);
  const { kind, number, seconds, leads } = plan.first;
  assert.deepEqual([kind, number, seconds], ["test", 0, 15]);
  assert.deepEqual(leads.map((lead) => [lead.left, lead.share]), [[[0], 0.75], [[1], 0.25]]);
  assert.deepEqual(leads.map((lead) => [lead.then().kind, lead.then().number]), [["repair", 0], ["repair", 1]]);
});

test("a plan goes on from any place: access paid, tests done or unread, causes cleared", () => {
  const hunt = new Hunt(two());
  assert.equal(hunt.plan({ paid: [0] }).seconds, 60);
  assert.equal(hunt.plan({ left: [1], paid: [0], done: [0] }).seconds, 20);
  // no test left: the long repair first helps in three of four, then the short one: 60 + 20 / 4;
  // the short one first: 20 + 60 * 3 / 4
  assert.equal(hunt.plan({ done: [0] }).seconds, 65);
  assert.deepEqual(hunt.plan({ unread: [0] }).seconds, 65);
  assert.equal(hunt.plan({ unread: [0] }).first.number, 1);
});

test("a repair leads to fixed and to not fixed", () => {
  const { leads } = new Hunt(two({ tests: [] })).plan().first;
  assert.deepEqual(leads.map((lead) => [lead.left, lead.share]), [[[], 0.25], [[0], 0.75]]);
  assert.equal(leads[0].then(), null);
  assert.equal(leads[1].then().number, 0);
});

test("to isolate, the repairs cost nothing", () => {
  const hunt = new Hunt(two());
  assert.equal(hunt.plan({}, true).seconds, 15);
  assert.equal(hunt.plan({ left: [0] }, true).first, null);
});

test("where nothing is left there is nothing to do", () => {
  const plan = new Hunt(two()).plan({ left: [] });
  assert.deepEqual([plan.seconds, plan.proved, plan.gap, plan.first], [0, true, 0, null]);
});

test("a list of causes that begins with -1 is all but these", () => {
  const weights = [1, 1, 1];
  const tests = [[4, [], [[-1, 2], [2]], []]];
  const plan = new Hunt(two({ weights, tests, repairs: [[8, [], [-1], 0]] })).plan({}, true);
  assert.equal(plan.first, null); // one repair mends all
  const { leads } = new Hunt(two({ weights, tests, repairs: [[8, [], [-1, 2], 0], [8, [], [2], 0]] })).plan({}, true).first;
  assert.deepEqual(leads.map((lead) => lead.left), [[0, 1], [2]]);
});

test("a test is done after those that come before it", () => {
  const tests = [[10, [0], [[0], [1]], [1]], [3, [], [[-1]], []]];
  const plan = new Hunt(two({ tests })).plan();
  assert.deepEqual([plan.first.number, plan.first.leads[0].then().number, plan.seconds], [1, 0, 68]);
});

test("causes and tests beyond the bits of a number are told apart", () => {
  // 40 causes of equal weight, 40 tests of a second: test i clears all but cause i, or cause i.
  // The best order asks one after the other; the last needs none: (1 + 2 + ... + 39 + 39) / 40
  const all = [...Array(40).keys()];
  const tests = all.map((i) => [1, [], [[i], [-1, i]], []]);
  const repairs = all.map((i) => [0, [], [i], 0]);
  const plan = new Hunt({ weights: all.map(() => 1), tests, repairs, access: [], budget: 4 }).plan({}, true);
  assert.equal(plan.seconds, (780 + 39) / 40);
  const steps = [];
  for (let step = plan.first; step; step = step.leads[1].then()) steps.push(step.number);
  assert.deepEqual(steps, all.slice(0, 39));
});

test("values beyond 2 ** 53 stay exact", () => {
  // Each of 60 tests finds the same two ways whatever is wrong: each cause survives both, 2 ** 60 ways in all.
  const tests = [...Array(60).keys()].map((i) => [i + 1, [], [[-1], [-1]], []]);
  const plan = new Hunt(two({ tests: [[10, [], [[0], [0, 1]], []], ...tests] })).plan();
  // Cause 0 is left alone in half of its findings. By hand in eighths of the weight: 10 s, then 3 alone (60 s),
  // 3 and 2 together: the short repair first (20 s), then the long one for 3 of 5: 10 + (3 * 60 + 5 * 20 + 3 * 60) / 8
  assert.equal(typeof plan.exact[0], "bigint");
  assert.equal(plan.seconds, 10 + (180 + 100 + 180) / 8);
});

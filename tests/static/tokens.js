// Prints whether two scripts, given on standard input as [name, one, other], are the same token by token.
"use strict";
const fs = require("node:fs");
const { pairs, acorn } = JSON.parse(fs.readFileSync(0, "utf8"));
const { tokenizer } = require(acorn);

/** Kinds and values of all tokens: spaces in strings and templates count, those between tokens don't. */
function tokens(text) {
  const options = { ecmaVersion: "latest" };
  return [...tokenizer(text, options)].map(({ type, value }) => `${type.label} ${value instanceof Object ? JSON.stringify(value) : value}`);
}

const unlike = pairs.flatMap(([name, one, other]) => {
  const [before, after] = [tokens(one), tokens(other)];
  const at = before.findIndex((token, n) => token !== after[n]);
  return at < 0 && before.length === after.length ? [] : [[name, before.slice(at, at + 5), after.slice(at, at + 5)]];
});
process.stdout.write(JSON.stringify(unlike));

// Asks of a browser's scripts that each name is one that they or the browser define, and that each is used.
const { createRequire } = require("node:module");
const { BACKPROBE_TOOLS: tools } = process.env;
const globals = createRequire(`${tools}/`)("globals");

module.exports = [
  {
    files: ["**/*.js"],
    languageOptions: {
      sourceType: "script",
      ecmaVersion: 2024,
      // KEPT is written before the worker when a site is built
      globals: { ...globals.browser, ...globals.serviceworker, module: "readonly", require: "readonly", KEPT: "readonly" },
    },
    rules: { "no-undef": "error", "no-unused-vars": "error", "no-redeclare": "error", "no-dupe-keys": "error" },
  },
];

// What html-validate asks of the pages; each rule that is off says why.
export default {
  root: true,
  extends: ["html-validate:standard", "html-validate:a11y", "html-validate:document"],
  rules: {
    "no-inline-style": "error",
    // Not checked by a hash: `integrity` keeps a browser from loading the files of a folder on the disk.
    "require-sri": "off",
    // The search is one field that is sent by Enter, or by the search key of a phone's keyboard.
    // Titles name the symptom and the base in full.
    "long-title": "off",
    // White space is the templates' affair.
    "no-trailing-whitespace": "off",
  },
};

/** Brings the search to a page whose field is used: until then nothing of it is loaded. */
(function () {
  "use strict";
  const field = document.querySelector("[data-ahead]");

  function bring() {
    field.removeEventListener("input", bring);
    for (const address of field.dataset.ahead.split(" ")) {
      const script = document.createElement("script");
      script.src = address;
      script.async = false; // in this order
      document.head.append(script);
    }
  }

  field.addEventListener("input", bring);
  // who comes back from a hit finds the words again
  const { asked } = history.state || {};
  if (asked) field.value = asked;
  if (field.value) bring();
})();

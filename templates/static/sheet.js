/** The key that prints this sheet; without script the browser's own command prints it alike. */
(function () {
  "use strict";
  const key = document.querySelector("[data-print]");
  if (!key) return;
  key.hidden = false;
  key.addEventListener("click", () => window.print());
})();

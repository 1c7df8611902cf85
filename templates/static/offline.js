/**
 * Keeps the whole base on this device where it is served, says how much that is, and announces a newer edition.
 * Loaded by `site.js` on served pages only: from a folder or a stick the base is at hand anyway.
 */
(function () {
  "use strict";
  const page = document.documentElement;
  const root = page.dataset.root || "";
  const place = document.querySelector("[data-keeping]");
  const workers = navigator.serviceWorker;
  let asked = false;

  function size(bytes) {
    return bytes < 1e6 ? Math.max(1, Math.round(bytes / 1e3)) + " KB" : (bytes / 1e6).toFixed(bytes < 1e7 ? 1 : 0) + " MB";
  }

  function say(words) {
    place.hidden = false;
    if (place.firstChild) place.firstChild.textContent = words;
    else place.append(words);
  }

  function key(words, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "key";
    made.textContent = words;
    made.addEventListener("click", act);
    return made;
  }

  function told(what) {
    if (what.failed === "room") say("This device has no room for the whole base (" + size(what.bytes) + "). It works with the network only.");
    else if (what.failed) say("The base is being changed on its server, so this device keeps what it has. It is tried again with the next page.");
    else if (what.whole || what.done === what.of) say("The whole base, " + size(what.bytes) + ", is kept on this device. It works without network.");
    else say("Keeping the whole base on this device, " + size(what.bytes) + ": " + what.done + " of " + what.of + " files.");
  }

  /** A newer edition waits: nothing of it is shown before the reader asks for it. */
  function announce(waiting) {
    if (document.querySelector(".newer")) return;
    const bar = document.createElement("div");
    bar.className = "newer";
    const words = document.createElement("p");
    words.setAttribute("role", "status");
    bar.append(words, key("Show the newer edition", () => {
      asked = true;
      waiting.postMessage("use");
    }));
    document.querySelector("main").before(bar);
    words.textContent = "A newer edition of these pages is kept on this device.";
  }

  function watch(registration) {
    if (registration.waiting && workers.controller) announce(registration.waiting);
    registration.addEventListener("updatefound", () => {
      const coming = registration.installing;
      coming.addEventListener("statechange", () => {
        if (coming.state === "installed" && workers.controller) announce(coming);
      });
    });
    if (registration.active) registration.active.postMessage("told?");
  }

  async function keep() {
    try {
      watch(await workers.register(root + page.dataset.keep, { scope: root || "./", updateViaCache: "none" }));
    } catch {
      // no worker here (a private window, a plain address): the pages work with the network as before
    }
  }

  workers.addEventListener("message", (event) => told(event.data));
  workers.addEventListener("controllerchange", () => {
    if (asked || document.querySelector(".newer")) location.reload();
  });

  const manifest = document.createElement("link");
  manifest.rel = "manifest";
  manifest.href = root + page.dataset.manifest;
  document.head.append(manifest);

  async function begin() {
    const saving = navigator.connection && navigator.connection.saveData;
    if (!saving || (await workers.getRegistration(root || "./"))) return keep();
    const figures = await (await fetch(root + page.dataset.figures)).json();
    say("This device saves data. ");
    const button = key("Keep the whole base on it, " + size(figures.bytes), () => {
      button.remove();
      keep();
    });
    place.append(button);
  }

  begin().catch(() => {});
})();

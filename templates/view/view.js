"use strict";
// Loaded by pages that `backprobe view` serves, and by no other: waits for the next build, then reloads.
(() => {
  const root = document.documentElement.dataset.root || "";
  const wait = async (version) => {
    try {
      const answer = await fetch(`${root}-/version?after=${version}`, { cache: "no-store" });
      const now = (await answer.json()).version;
      if (version >= 0 && now !== version) {
        location.reload();
        return;
      }
      wait(now);
    } catch {
      setTimeout(wait, 1000, version);
    }
  };
  wait(-1);
})();

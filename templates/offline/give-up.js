"use strict";
// Served in the place of the worker that keeps a site: what was kept here is given up, and open pages load anew.
self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(giveUp()));

async function giveUp() {
  for (const name of await caches.keys()) {
    if (name.startsWith("backprobe " + self.registration.scope + " ")) await caches.delete(name);
  }
  await self.registration.unregister();
  for (const page of await self.clients.matchAll({ type: "window" })) page.navigate(page.url);
}

"use strict";
/**
 * Keeps every file of one edition of the site on this device and answers from there.
 *
 * `KEPT` stands in front: {edition, bytes, files: {path: digest}}. A file is kept only with its digest, so an edition
 * is whole or isn't kept at all; the one before it goes on until the reader asks for the new one.
 */
const PREFIX = "backprobe " + self.registration.scope + " ";
const NAME = PREFIX + KEPT.edition;
const LIST = new URL("?list", self.registration.scope).href;
const AT_ONCE = 6;
const TYPES = { html: "text/html; charset=utf-8", js: "text/javascript", css: "text/css", svg: "image/svg+xml", json: "application/json", webmanifest: "application/manifest+json", woff2: "font/woff2", csv: "text/csv", txt: "text/plain; charset=utf-8", png: "image/png", jpg: "image/jpeg" };

self.addEventListener("install", (event) => event.waitUntil(keepAll()));
self.addEventListener("activate", (event) => event.waitUntil(dropOthers()));

self.addEventListener("message", (event) => {
  if (event.data === "use") self.skipWaiting();
  if (event.data === "told?") event.source.postMessage({ edition: KEPT.edition, bytes: KEPT.bytes, whole: true });
});

self.addEventListener("fetch", (event) => {
  const path = pathOf(event.request.url);
  if (event.request.method === "GET" && path in KEPT.files) event.respondWith(answer(path, event.request));
});

/** The path of an address below this worker's place, without its query; a folder's own address is its index. */
function pathOf(address) {
  const url = new URL(address);
  const root = new URL(self.registration.scope);
  if (url.origin !== root.origin || !url.pathname.startsWith(root.pathname)) return "";
  try {
    const path = decodeURIComponent(url.pathname.slice(root.pathname.length));
    return path === "" || path.endsWith("/") ? path + "index.html" : path;
  } catch {
    return "";
  }
}

function addressOf(path) {
  return new URL(path.split("/").map(encodeURIComponent).join("/"), self.registration.scope).href;
}

async function answer(path, request) {
  const cache = await caches.open(NAME);
  return (await cache.match(addressOf(path))) || fetch(request);
}

async function keepAll() {
  const cache = await caches.open(NAME);
  const before = await earlier();
  const wanted = Object.keys(KEPT.files);
  let next = 0;
  let done = 0;
  const work = async () => {
    while (next < wanted.length) {
      const path = wanted[next++];
      await keep(cache, before, path);
      done += 1;
      if (done % 20 === 0 || done === wanted.length) tell({ edition: KEPT.edition, bytes: KEPT.bytes, done, of: wanted.length });
    }
  };
  try {
    await Promise.all(Array.from({ length: AT_ONCE }, work));
    await cache.put(LIST, new Response(JSON.stringify(KEPT.files)));
  } catch (error) {
    next = wanted.length;
    tell({ edition: KEPT.edition, bytes: KEPT.bytes, failed: error.name === "QuotaExceededError" ? "room" : "files" });
    throw error;
  }
}

/** One file: as it is kept already, from an earlier edition, or from the server. */
async function keep(cache, before, path) {
  const address = addressOf(path);
  if (await cache.match(address)) return;
  const digest = KEPT.files[path];
  const same = before.get(digest);
  const found = same && (await (await caches.open(same.cache)).match(same.address));
  const data = found ? await found.arrayBuffer() : await fetched(address);
  if ((await digestOf(data)) !== digest) throw new Error(path + " is of another edition");
  const end = path.slice(path.lastIndexOf(".") + 1).toLowerCase();
  await cache.put(address, new Response(data, { headers: { "Content-Type": TYPES[end] || "application/octet-stream" } }));
}

async function fetched(address) {
  const got = await fetch(address, { cache: "no-cache", credentials: "same-origin" });
  if (!got.ok) throw new Error(address + ": " + got.status);
  return got.arrayBuffer();
}

/** SHA-256 as the list writes it: base64url, its first 22 characters. */
async function digestOf(data) {
  const bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", data));
  const text = btoa(String.fromCharCode(...bytes)).replaceAll("+", "-").replaceAll("/", "_");
  return text.slice(0, 22);
}

/** Where files of earlier editions lie, by digest. */
async function earlier() {
  const found = new Map();
  for (const name of await ours()) {
    const list = await (await caches.open(name)).match(LIST);
    if (!list) continue;
    for (const [path, digest] of Object.entries(await list.json())) found.set(digest, { cache: name, address: addressOf(path) });
  }
  return found;
}

async function ours() {
  return (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== NAME);
}

async function dropOthers() {
  for (const name of await ours()) await caches.delete(name);
}

async function tell(what) {
  for (const page of await self.clients.matchAll({ includeUncontrolled: true, type: "window" })) page.postMessage(what);
}

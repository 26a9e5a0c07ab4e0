// Keeps one build of the page for use without a network. One build is one cache, complete or not there at all; a newer
// build installs beside the running one and waits until it is asked to take over.
"use strict";
const BUILD = "@BUILD@";
// Name → SHA-256 of its content: an upload caught half-way cannot mix two builds.
const FILES = { /* @FILES@ */ };
// Several apps, or several copies of this one, may share an origin: the scope tells their caches apart.
const PREFIX = `tarsal:${registration.scope}:`;
const CACHE = PREFIX + BUILD;

const place = (name) => new URL(name, registration.scope).href;

async function sha256(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** One file, exactly as built. */
async function fetched(name) {
  // The index is asked for by its folder: some hosts redirect the longer name, and a redirected answer cannot be shown.
  const answer = await fetch(place(name === "index.html" ? "./" : name), { cache: "reload", credentials: "same-origin" });
  if (!answer.ok) throw new Error(`${name}: the host answered ${answer.status}`);
  const bytes = await answer.arrayBuffer();
  if ((await sha256(bytes)) !== FILES[name]) throw new Error(`${name}: not the file of build ${BUILD}`);
  const type = answer.headers.get("Content-Type") ?? "application/octet-stream";
  return [place(name), new Response(bytes, { headers: { "Content-Type": type } })];
}

async function install() {
  // All files are in hand and checked before the first is stored.
  const answers = await Promise.all(Object.keys(FILES).map(fetched));
  try {
    const cache = await caches.open(CACHE);
    await Promise.all(answers.map(([url, answer]) => cache.put(url, answer)));
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
}

async function complete() {
  if (!(await caches.has(CACHE))) return false;
  const held = new Set((await (await caches.open(CACHE)).keys()).map((request) => request.url));
  return Object.keys(FILES).every((name) => held.has(place(name)));
}

const ownCaches = async () => (await caches.keys()).filter((key) => key.startsWith(PREFIX));

/** The build a window runs, or null when it does not say in time. */
function buildOf(client) {
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = (event) => resolve(event.data.build);
    setTimeout(() => resolve(null), 2000);
    client.postMessage({ ask: "build" }, [port2]);
  });
}

/** Deletes this app's caches of builds that no open window runs. In doubt it keeps them. */
async function sweep() {
  const others = (await ownCaches()).filter((key) => key !== CACHE);
  // A build on its way in has a cache and no window yet.
  if (others.length === 0 || registration.installing || registration.waiting) return;
  const windows = await clients.matchAll({ type: "window", includeUncontrolled: true });
  const ours = windows.filter((client) => client.url.startsWith(registration.scope));
  const running = await Promise.all(ours.map(buildOf));
  if (running.includes(null)) return;
  for (const key of others) {
    if (!running.includes(key.slice(PREFIX.length))) await caches.delete(key);
  }
}

addEventListener("install", (event) => event.waitUntil(install()));

addEventListener("activate", (event) => event.waitUntil((async () => {
  // The first install may serve the window that brought it. A later build takes windows only by asking (below) or
  // when none is open.
  if ((await ownCaches()).every((key) => key === CACHE)) await clients.claim();
})()));

addEventListener("message", (event) => {
  const { say } = event.data ?? {};
  if (say === "take over") event.waitUntil(skipWaiting());
  if (say === "hello") event.waitUntil((async () => {
    event.ports[0]?.postMessage({ build: BUILD, complete: await complete() });
    await sweep();
  })());
});

/** The name in this build's list that a request means, if any. */
function listed(request) {
  if (request.method !== "GET") return null;
  const url = new URL(request.url);
  const base = new URL(registration.scope);
  if (url.origin !== base.origin || !url.pathname.startsWith(base.pathname)) return null;
  const name = url.pathname.slice(base.pathname.length) || "index.html";
  return Object.hasOwn(FILES, name) ? name : null;
}

addEventListener("fetch", (event) => {
  const name = listed(event.request);
  // Whatever is not this build's passes as if no service worker were here.
  if (name === null) return;
  event.respondWith((async () => {
    const held = await caches.match(place(name), { cacheName: CACHE });
    // Only when the browser has thrown the cache away.
    return held ?? fetch(event.request);
  })());
});

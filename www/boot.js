// Starts the page, and stays able to speak when the rest cannot: everything here is plain, so that it still works
// after the WebAssembly has failed.
(() => {
  "use strict";
  const root = document.documentElement;
  // Made into one file, the page carries the module itself and needs nothing from beside it.
  const inlined = document.getElementById("inlined-wasm");
  const hosted = !inlined && (location.protocol === "http:" || location.protocol === "https:");
  const build = "@BUILD@";
  globalThis.tarsalBuild = build;

  // ---- when something breaks

  let trouble = null;

  /** Shows the bar that says the page has stopped. The first message is the one that matters. */
  globalThis.tarsalPanic = (message) => {
    trouble ??= String(message ?? "no message");
    const bar = document.getElementById("panic-bar");
    if (!bar) return;
    bar.hidden = false;
    document.getElementById("panic-reload").onclick = () => location.reload();
    document.getElementById("panic-save").onclick = saveDiagnostics;
  };

  /** What happened, where, in which build: no names, no recordings, no address beyond the kind of page. */
  function saveDiagnostics() {
    const report = { build, message: trouble, browser: navigator.userAgent, language: navigator.language, page: hosted ? "hosted" : "file" };
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([JSON.stringify(report, null, 1)], { type: "application/json" }));
    link.download = "tarsal-diagnostics.json";
    link.click();
  }

  // A trap inside the module: nothing in its memory can be trusted any more.
  const isTrap = (error) => typeof WebAssembly === "object" && error instanceof WebAssembly.RuntimeError;
  addEventListener("error", (event) => { if (isTrap(event.error)) globalThis.tarsalPanic(event.message); });
  addEventListener("unhandledrejection", (event) => { if (isTrap(event.reason)) globalThis.tarsalPanic(event.reason.message); });

  // ---- what the browser gives only through promises and iterators; the module calls it

  const readable = /\.(csv|txt|tsv|dat|asc)$/i;
  const sleep = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

  /** Files of a dropped entry; of a folder, those inside that look like recordings. */
  async function inside(entry) {
    if (entry.isFile) return [await new Promise((resolve, reject) => entry.file(resolve, reject))];
    const reader = entry.createReader();
    const files = [];
    for (;;) {
      const entries = await new Promise((resolve, reject) => reader.readEntries(resolve, reject));
      if (!entries.length) return files;
      for (const one of entries) files.push(...(await inside(one)).filter((file) => !one.isFile || readable.test(file.name)));
    }
  }

  let watched = 0;
  /** Looks into a folder again and again; a file is given once its size has stopped growing. */
  async function watch(folder, mine, found, ended) {
    const seen = new Map();
    try {
      while (watched === mine) {
        for await (const [name, handle] of folder.entries()) {
          if (handle.kind !== "file" || !readable.test(name)) continue;
          const file = await handle.getFile();
          const mark = `${file.size} ${file.lastModified}`;
          const before = seen.get(name);
          seen.set(name, before === mark || before === `given ${mark}` ? `given ${mark}` : mark);
          if (before === mark && file.size && watched === mine) found(file);
        }
        await sleep(1000);
      }
    } catch (error) {
      if (watched === mine) ended(String(error?.message ?? error));
    }
  }

  root.toggleAttribute("data-folders", typeof showDirectoryPicker === "function");
  root.toggleAttribute("data-disk", location.protocol === "file:");
  globalThis.tarsalMeans = {
    key: async (passphrase, salt, iterations) => {
      const words = new TextEncoder().encode(passphrase.normalize("NFC"));
      const raw = await crypto.subtle.importKey("raw", words, "PBKDF2", false, ["deriveKey"]);
      const how = { name: "PBKDF2", hash: "SHA-256", salt, iterations };
      return crypto.subtle.deriveKey(how, raw, { name: "AES-GCM", length: 256 }, false, ["encrypt", "decrypt"]);
    },
    seal: async (key, iv, bytes) => new Uint8Array(await crypto.subtle.encrypt({ name: "AES-GCM", iv }, key, bytes)),
    unseal: async (key, iv, bytes) => new Uint8Array(await crypto.subtle.decrypt({ name: "AES-GCM", iv }, key, bytes)),
    random: async (count) => crypto.getRandomValues(new Uint8Array(count)),
    inside: async (entries) => (await Promise.all(entries.map(inside))).flat(),
    room: async (ask) => {
      const keeper = navigator.storage;
      const durable = keeper?.persisted ? (await keeper.persisted()) || (ask && (await keeper.persist())) : undefined;
      const { usage = 0, quota = 0 } = (await keeper?.estimate?.()) ?? {};
      return [usage, quota, durable];
    },
    watch: async (found, ended) => {
      const folder = await showDirectoryPicker();
      watched += 1;
      watch(folder, watched, found, ended);
      return folder.name;
    },
    unwatch: async () => { watched += 1; },
  };

  // ---- starting

  /** The host's answer for a file beside the page. */
  async function beside(name) {
    const answer = await fetch(name);
    if (!answer.ok) throw new Error(`${name}: the host answered ${answer.status}`);
    return answer;
  }

  const compiled = async (name) => WebAssembly.compile(await (await beside(name)).arrayBuffer());

  /** Glue text and compiled module, from inside this file or from beside it. */
  async function parts() {
    if (inlined) {
      const bytes = Uint8Array.from(atob(inlined.textContent), (letter) => letter.charCodeAt(0));
      inlined.remove();
      return { glue: document.getElementById("inlined-glue").textContent, module: await WebAssembly.compile(bytes) };
    }
    // Not the streaming call: it insists on a content type that simple hosts do not send.
    const module = compiled("tarsal.wasm");
    module.catch(() => {});
    const glue = await (await beside("tarsal.js")).text();
    await new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = "tarsal.js";
      script.onload = resolve;
      script.onerror = () => reject(new Error("tarsal.js did not load"));
      document.head.append(script);
    });
    return { glue, module: await module };
  }

  /**
   * Starts the module, in the page and, from its own text, in each worker. What squads, advice and reports need is in
   * a second half (src/site/split.rs). It joins as soon as it is here; where the first half leads into it sooner, the
   * module calls `tarsalSecondHalf`, which fetches it from `address` while everything waits. Without an address there
   * is only one half. Returns the function that joins a compiled second half.
   */
  function begin(module, second, address) {
    const exports = wasm_bindgen.initSync({ module });
    let whole;
    const join = (half) => {
      // Halves of two builds refuse each other here, before anything is changed.
      if (half && !whole) new WebAssembly.Instance(half, { first: exports });
      whole = globalThis.tarsalWhole = true;
      globalThis.document?.documentElement.toggleAttribute("data-whole", true);
    };
    if (!address) join();
    globalThis.tarsalSecondHalf = () => {
      if (whole) return;
      try {
        const request = new XMLHttpRequest();
        request.open("GET", address, false);
        // A page may not ask for bytes while it waits, only for text: here one letter is one byte.
        request.overrideMimeType("text/plain; charset=x-user-defined");
        request.send();
        if (request.status !== 200) throw new Error(`the host answered ${request.status}`);
        join(new WebAssembly.Module(Uint8Array.from(request.responseText, (letter) => letter.charCodeAt(0) & 255)));
      } catch (error) {
        globalThis.tarsalPanic?.(`A part of this page did not arrive: ${error?.message ?? error}`);
        throw error;
      }
    };
    if (second) join(second);
    wasm_bindgen.start();
    return join;
  }

  // The first message is the start; every later one is for the module's own handler, or brings the second half.
  const workerStart = `
;addEventListener("message", (event) => {
  event.stopImmediatePropagation();
  // A worker of this worker starts by the same message.
  globalThis.tarsalStart = event.data;
  const join = (${begin})(...event.data);
  addEventListener("message", (event) => { if (event.data instanceof WebAssembly.Module) join(event.data); });
}, { once: true });`;

  async function start() {
    const later = "tarsal-later.wasm";
    const address = inlined ? null : new URL(later, location.href).href;
    // Kept on this device, both halves are here at once; on a first visit the second waits for the first.
    const kept = hosted && navigator.serviceWorker?.controller;
    const early = kept ? compiled(later).catch(() => null) : null;
    const { glue, module } = await parts();
    let second = await early;
    // From a Blob in every build: such a worker inherits this page's policy, and needs no request to start again.
    const source = URL.createObjectURL(new Blob([glue, workerStart], { type: "text/javascript" }));
    const workers = [];
    globalThis.tarsalMakeWorker = () => {
      const worker = new Worker(source);
      worker.postMessage([module, second, address]);
      workers.push(worker);
      return worker;
    };
    const join = begin(module, second, address);
    takeOpened();
    if (second || inlined) return;
    compiled(later).then((half) => {
      second = half;
      join(half);
      for (const worker of workers) worker.postMessage(half);
    }).catch((error) => {
      // It is asked for again when it is needed.
      console.warn("The second half has not arrived:", error);
    });
  }

  /** Files that the operating system opens with the installed page, as if they were chosen by hand. */
  function takeOpened() {
    globalThis.launchQueue?.setConsumer(async ({ files }) => {
      const opened = new DataTransfer();
      for (const file of files ?? []) {
        try { opened.items.add(await file.getFile()); } catch (error) { console.warn("Not opened:", file.name, error); }
      }
      while (root.dataset.ready !== "true") await new Promise((resolve) => setTimeout(resolve, 50));
      const input = document.getElementById("file-input");
      if (!input || opened.files.length === 0) return;
      input.files = opened.files;
      input.dispatchEvent(new Event("change", { bubbles: true }));
    });
  }

  // ---- working offline, and newer builds

  let wanted = false; // the reader asked for the newer build

  function offer(act) {
    const bar = document.getElementById("update-bar");
    if (!bar) return;
    bar.hidden = false;
    document.getElementById("update-now").onclick = async () => {
      wanted = true;
      // The page may have something to put away first; failing that must not trap the reader in the old build.
      try { await globalThis.tarsalBeforeReload?.(); } catch (error) { console.warn(error); }
      act();
    };
  }

  /** Asks the active service worker whether it holds its whole build, and tells it which one runs here. */
  function greet(active) {
    const { port1, port2 } = new MessageChannel();
    const late = setTimeout(() => { root.dataset.offline = "unavailable"; }, 10000);
    // A busy computer may answer late; late is not never.
    port1.onmessage = (event) => {
      clearTimeout(late);
      root.dataset.offline = event.data.complete === true ? "ready" : "unavailable";
    };
    active.postMessage({ say: "hello", build }, [port2]);
  }

  async function workOffline() {
    if (!hosted) return;
    const container = navigator.serviceWorker;
    if (!container) { root.dataset.offline = "unavailable"; return; }
    const hadController = container.controller !== null;
    container.addEventListener("message", (event) => {
      if (event.data?.ask === "build") event.ports[0]?.postMessage({ build });
    });
    container.startMessages();
    container.addEventListener("controllerchange", () => {
      if (wanted) location.reload();
      // Another window took the newer build; this one keeps running until its reader is ready.
      else if (hadController) offer(() => location.reload());
    });
    // One from an earlier visit is asked before the host is: registering waits behind the browser's own look for a
    // newer one, and that never ends in a network that takes requests and answers none.
    const held = await container.getRegistration();
    const known = held?.active && held.scope === new URL("./", location.href).href;
    if (known) greet(held.active);
    let registration;
    try {
      registration = await container.register("sw.js", { updateViaCache: "none" });
    } catch (error) {
      console.warn("Not available offline:", error);
      if (!known) root.dataset.offline = "unavailable";
      return;
    }
    const offerWaiting = () => {
      const waiting = registration.waiting;
      if (waiting && registration.active) offer(() => (registration.waiting ?? waiting).postMessage({ say: "take over" }));
    };
    const follow = (coming) => coming?.addEventListener("statechange", () => {
      if (coming.state === "installed") offerWaiting();
      // The host alters or lacks a file: this visit works, the next one needs the network again.
      if (coming.state === "redundant" && !registration.active) root.dataset.offline = "unavailable";
    });
    offerWaiting();
    follow(registration.installing);
    registration.addEventListener("updatefound", () => follow(registration.installing));
    if (known) return;
    const ready = await container.ready;
    if (ready.active.state !== "activated") {
      await new Promise((resolve) => ready.active.addEventListener("statechange", resolve, { once: true }));
    }
    greet(ready.active);
  }

  async function main() {
    try {
      await start();
    } catch (error) {
      console.error(error);
      globalThis.tarsalPanic(`The page could not start: ${error?.message ?? error}`);
    }
    await workOffline();
  }

  // In the single file this script is inlined in the head and cannot be deferred.
  if (document.readyState === "loading") addEventListener("DOMContentLoaded", main);
  else main();
})();

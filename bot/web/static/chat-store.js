/* What the telephone keeps: texts that wait for signal, and the lines of the talk. Used by the page
   and by the worker. Each text has an id of its own from the moment it is written, so that it may
   be sent as often as it takes and arrives once; one after the other, in the order of writing. */
"use strict";

const store = (function () {
  const NAME = "bushpost-chat";

  function answered(request) {
    return new Promise((done, fail) => {
      request.onsuccess = () => done(request.result);
      request.onerror = () => fail(request.error);
    });
  }

  let opening = null;
  function open() {
    opening = opening || new Promise((done, fail) => {
      const request = indexedDB.open(NAME, 1);
      request.onupgradeneeded = () => {
        request.result.createObjectStore("waiting", { keyPath: "n", autoIncrement: true });
        request.result.createObjectStore("lines", { keyPath: "id" });
        request.result.createObjectStore("notes");
      };
      request.onsuccess = () => done(request.result);
      request.onerror = () => fail(request.error);
    });
    return opening;
  }

  async function within(name, mode, act) {
    const database = await open();
    const change = database.transaction(name, mode);
    const result = act(change.objectStore(name));
    const finished = new Promise((done, fail) => {
      change.oncomplete = done;
      change.onabort = change.onerror = () => fail(change.error);
    });
    const found = result ? await answered(result) : undefined;
    await finished;
    return found;
  }

  const all = (name) => within(name, "readonly", (kept) => kept.getAll());
  const put = (name, value, key) => within(name, "readwrite", (kept) => kept.put(value, key));
  const drop = (name, key) => within(name, "readwrite", (kept) => kept.delete(key));
  const clear = (name) => within(name, "readwrite", (kept) => kept.clear());
  const note = (key) => within("notes", "readonly", (kept) => kept.get(key));

  function fields(item, token) {
    const form = new FormData();
    form.set("csrf_token", token);
    form.set("entry", item.entry);
    form.set("text", item.text);
    /* How long it lay here, and not at which time of day it was written: clocks differ. */
    form.set("waited", String(Math.max(0, Date.now() - item.at)));
    ["lat", "lon", "accuracy"].forEach((name) => item.pin && form.set(name, String(item.pin[name])));
    if (item.photo) form.set("photo", item.photo, "photo.jpg");
    if (item.exif) form.set("exif", item.exif, "exif");
    return form;
  }

  async function post(item, token) {
    const answer = await fetch("/chat", {
      method: "POST",
      body: fields(item, token),
      headers: { Accept: "application/json" },
    });
    if (answer.ok && !answer.redirected) return "";
    if (answer.status === 413) return "large_photo";
    const json = (answer.headers.get("Content-Type") || "").includes("json");
    if (answer.status === 400 && json) return (await answer.json()).why;
    throw new Error("not now");
  }

  async function flush(tell) {
    let token = "";
    for (;;) {
      const item = (await all("waiting")).find((each) => !each.why);
      if (!item) return;
      token = token || (await (await fetch("/chat/token")).json()).token;
      await tell(item, "sending");
      const why = await post(item, token);
      if (why) await put("waiting", { ...item, why });
      else await drop("waiting", item.n);
      await tell(item, why ? "refused" : "sent", why);
    }
  }

  let busy = null;
  function send(tell) {
    /* One tab at a time sends, or two would send out of turn. */
    if (navigator.locks) return navigator.locks.request(NAME, () => flush(tell));
    busy = (busy || Promise.resolve()).catch(() => {}).then(() => flush(tell));
    return busy;
  }

  return { open, all, put, drop, clear, note, send };
})();

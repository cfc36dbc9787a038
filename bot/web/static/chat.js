/* The hunter's chat with JavaScript: every text is kept on the telephone first and sent from there,
   photos are made smaller, the position is looked for when asked. All of it also works without: the
   form posts and the page is loaded again. */
"use strict";

(function () {
  const at = (id) => document.getElementById(id);
  const log = at("log"), pen = at("pen"), text = at("text"), photo = at("photo"), send = at("send");
  const trouble = at("trouble"), where = at("where"), here = at("here"), kept = at("kept");
  const offers = at("offers"), signal = at("signal"), seen = at("seen"), picture = at("picture");
  const noPhoto = at("no-photo");
  const words = JSON.parse(pen.dataset.words);
  const QUICK = 1500, SLOW = 10000, AGAIN = 5000, LONGEST_AGAIN = 60000;
  const LONGEST_SIDE = 1600, EXIF_IN = 131072, EXIF_BYTES = 16384, ROUGH_M = 200;
  let quiet = 0, timer = 0, retry = 0, pause = AGAIN, position = null, chosen = null, after = pen.dataset.after;

  const fill = (key, values) => words[key].replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);

  /* --------------------------------------------------------------------------- the talk's lines */

  function lineOf(entry) {
    const item = document.createElement("li");
    const margin = document.createElement("span");
    const time = document.createElement("time");
    const name = document.createElement("b");
    const body = document.createElement("p");
    margin.className = "margin";
    time.dateTime = entry.at;
    time.textContent = entry.moment;
    name.textContent = entry.name;
    margin.append(time, " ", name);
    body.textContent = entry.body;
    for (const note of entry.notes) {
      const mark = document.createElement("span");
      mark.className = "note";
      mark.textContent = note;
      body.append(" ", mark);
    }
    item.append(margin, body);
    return item;
  }

  function show(entry) {
    if (at(entry.id)) return;
    at("first-words")?.remove();
    const item = lineOf(entry);
    item.id = entry.id;
    item.className = entry.who + " fresh";
    log.append(item);
    if (entry.who === "us") item.scrollIntoView({ block: "nearest" });
  }

  function stand(news) {
    pen.dataset.place = news.place;
    offers.hidden = news.buttons.length === 0;
    at("buttons").replaceChildren(...news.buttons.map((each) => {
      const button = document.createElement("button");
      button.name = "text";
      button.value = each.words;
      button.textContent = each.label;
      return button;
    }));
    offerPlace();
  }

  async function look() {
    clearTimeout(timer);
    try {
      const answer = await fetch(pen.dataset.news + "?after=" + encodeURIComponent(after));
      if (answer.ok) {
        const news = await answer.json();
        if (news.talk !== pen.dataset.talk) return location.reload();
        quiet = news.entries.length ? 0 : quiet + 1;
        news.entries.forEach(show);
        after = news.after;
        const same = JSON.stringify([news.buttons, news.place]);
        if (same !== look.stands) {
          stand(news);
          await store.put("notes", { buttons: news.buttons, place: news.place }, "stands");
        }
        look.stands = same;
        for (const entry of news.entries) await store.put("lines", entry);
      }
    } catch {
      quiet += 1;
    }
    if (!document.hidden) timer = setTimeout(look, quiet < 20 ? QUICK : SLOW);
  }

  async function remembered() {
    if ((await store.note("talk")) !== pen.dataset.talk) {
      await store.clear("lines");
      await store.drop("notes", "stands");
      await store.put("notes", pen.dataset.talk, "talk");
    }
    const lines = await store.all("lines");
    lines.sort((one, other) => one.at.localeCompare(other.at) || other.who.localeCompare(one.who));
    const known = log.children.length;
    lines.forEach(show);
    /* A page that opened without signal is older than what is kept: so is what stands on it. */
    const stands = await store.note("stands");
    if (stands && lines.length && log.children.length > known) stand(stands);
  }

  /* --------------------------------------------------------------- what waits on the telephone */

  function waitingLine(item) {
    const state = item.why ? fill("not_taken", { why: words[item.why] || item.why }) : words.waits;
    const notes = [state, item.photo && words.with_photo, item.pin && words.with_position].filter(Boolean);
    const moment = new Date(item.at).toLocaleTimeString(document.documentElement.lang, { timeStyle: "short" });
    const line = lineOf({ at: new Date(item.at).toISOString(), moment, name: words.you, body: item.text, notes });
    line.className = "you";
    line.dataset.entry = item.entry;
    if (item.why) {
      const away = document.createElement("button");
      away.type = "button";
      away.textContent = words.take_away;
      away.addEventListener("click", () => store.drop("waiting", item.n).then(paint));
      line.lastChild.append(away);
    }
    return line;
  }

  async function paint() {
    const items = await store.all("waiting");
    kept.replaceChildren(...items.map(waitingLine));
    at("waiting").hidden = items.length === 0;
    if (items.length) paint.waited = true;
    else signal.textContent = paint.waited ? words.all_sent : "";
    return items;
  }

  function told(item, state) {
    const line = kept.querySelector('[data-entry="' + CSS.escape(item.entry) + '"] .note');
    if (line && state !== "refused") line.textContent = words[state];
    if (state !== "sending") return look().then(paint);
    return undefined;
  }

  async function out() {
    clearTimeout(retry);
    try {
      await store.send(told);
      pause = AGAIN;
      await paint();
    } catch {
      await paint();
      signal.textContent = words.no_signal;
      retry = setTimeout(out, pause);
      pause = Math.min(2 * pause, LONGEST_AGAIN);
    }
  }

  async function keep(item) {
    const bytes = crypto.getRandomValues(new Uint8Array(12));
    const entry = btoa(String.fromCharCode(...bytes)).replace(/\W/g, "-");
    await store.put("waiting", { entry, at: Date.now(), why: "", ...item });
    await paint();
    quiet = 0;
    navigator.serviceWorker?.ready.then((found) => found.sync?.register("send")).catch(() => {});
    out();
  }

  /* ------------------------------------------------------------------------------------ writing */

  function say(why) {
    trouble.textContent = why;
    trouble.hidden = !why;
  }

  async function written(event) {
    event.preventDefault();
    if (!text.value.trim() && !chosen && !position) {
      say(words.empty);
      text.focus();
      return;
    }
    say("");
    await keep({ text: text.value, pin: position, ...chosen });
    text.value = "";
    leave();
    dropPhoto();
  }

  async function pressed(event) {
    event.preventDefault();
    offers.hidden = true;
    look.stands = "";
    await store.put("notes", { buttons: [], place: pen.dataset.place }, "stands");
    await keep({ text: event.submitter.value });
  }

  /* ----------------------------------------------------------------------------------- position */

  function offerPlace() {
    const key = "here_" + pen.dataset.place;
    here.hidden = !position && (!words[key] || !navigator.geolocation || !window.isSecureContext);
    here.textContent = position ? words.here_out : words[key] || "";
  }

  function leave() {
    position = null;
    where.textContent = "";
    offerPlace();
  }

  function locate() {
    if (position) return leave();
    where.textContent = words.here_looking;
    return navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        position = { lat: coords.latitude, lon: coords.longitude, accuracy: coords.accuracy };
        const place = coords.latitude.toFixed(5) + ", " + coords.longitude.toFixed(5);
        const key = coords.accuracy > ROUGH_M ? "here_rough" : "here_found";
        where.textContent = fill(key, { place, metres: Math.round(coords.accuracy) });
        offerPlace();
      },
      () => (where.textContent = words.here_none),
      { enableHighAccuracy: true, timeout: 60000, maximumAge: 30000 },
    );
  }

  /* -------------------------------------------------------------------------------------- photo */

  const kb = (blob) => Math.max(1, Math.round(blob.size / 1000));

  async function exifOf(file) {
    /* The block as it stands: where and when, for our side to read before it throws it away. */
    const bytes = new Uint8Array(await file.slice(0, EXIF_IN).arrayBuffer());
    const mark = [69, 120, 105, 102, 0, 0];
    const start = bytes.findIndex((_, i) => mark.every((code, j) => bytes[i + j] === code));
    return start < 0 ? null : new Blob([bytes.slice(start, start + EXIF_BYTES)]);
  }

  async function smaller(file) {
    const whole = await createImageBitmap(file);
    const share = Math.min(1, LONGEST_SIDE / Math.max(whole.width, whole.height));
    seen.width = Math.round(whole.width * share);
    seen.height = Math.round(whole.height * share);
    seen.getContext("2d").drawImage(whole, 0, 0, seen.width, seen.height);
    return new Promise((done) => seen.toBlob(done, "image/jpeg", 0.8));
  }

  async function pick() {
    const [file] = photo.files;
    if (!file) return dropPhoto();
    say("");
    try {
      chosen = { photo: await smaller(file), exif: await exifOf(file) };
    } catch {
      dropPhoto();
      return say(words.bad_photo);
    }
    seen.hidden = noPhoto.hidden = false;
    picture.textContent = fill("photo_ready", { kb: kb(chosen.photo) });
    return undefined;
  }

  function dropPhoto() {
    chosen = null;
    photo.value = "";
    picture.textContent = "";
    seen.hidden = noPhoto.hidden = true;
  }

  async function begin() {
    /* Where nothing can be kept, the plain form does the work. */
    await store.open();
    pen.addEventListener("submit", written);
    offers.addEventListener("submit", pressed);
    here.addEventListener("click", locate);
    photo.addEventListener("change", pick);
    noPhoto.addEventListener("click", dropPhoto);
    window.addEventListener("online", () => out().then(look));
    window.addEventListener("offline", () => (signal.textContent = words.no_signal));
    document.addEventListener("visibilitychange", () => document.hidden || out().then(look));
    offerPlace();
    await remembered();
    if ((await paint()).length) out();
    look();
    if (!navigator.serviceWorker) return;
    navigator.serviceWorker.addEventListener("message", () => look().then(paint));
    navigator.serviceWorker.register(pen.dataset.worker, { scope: "/chat" });
  }

  begin();
})();

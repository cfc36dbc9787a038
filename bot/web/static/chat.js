/* The hunter's chat with JavaScript: sends without a reload, adds a position when asked to, and
   looks for news. Everything here also works without: the form posts and the page is loaded again. */
"use strict";

(function () {
  const log = document.getElementById("log");
  const pen = document.getElementById("pen");
  const text = document.getElementById("text");
  const photo = document.getElementById("photo");
  const send = document.getElementById("send");
  const trouble = document.getElementById("trouble");
  const where = document.getElementById("where");
  const here = document.getElementById("here");
  const field = (name) => pen.elements.namedItem(name);
  const QUICK = 1500;
  const SLOW = 10000;
  let quiet = 0;
  let timer = 0;
  let position = null;

  function line(entry) {
    if (document.getElementById(entry.id)) return;
    const first = document.getElementById("first-words");
    if (first) first.remove();
    const item = document.createElement("li");
    item.id = entry.id;
    item.className = entry.who + " fresh";
    const margin = document.createElement("span");
    margin.className = "margin";
    const time = document.createElement("time");
    time.dateTime = entry.at;
    time.textContent = entry.moment;
    const name = document.createElement("b");
    name.textContent = entry.name;
    margin.append(time, " ", name);
    const body = document.createElement("p");
    body.textContent = entry.body;
    for (const words of entry.notes) {
      const note = document.createElement("span");
      note.className = "note";
      note.textContent = words;
      body.append(" ", note);
    }
    item.append(margin, body);
    log.append(item);
    if (document.activeElement === text || entry.who === "us") item.scrollIntoView({ block: "nearest" });
  }

  async function look() {
    clearTimeout(timer);
    try {
      const answer = await fetch(log.dataset.news + "?after=" + encodeURIComponent(log.dataset.after), {
        headers: { Accept: "application/json" },
      });
      if (answer.ok) {
        const news = await answer.json();
        quiet = news.entries.length ? 0 : quiet + 1;
        news.entries.forEach(line);
        log.dataset.after = news.after;
      }
    } catch {
      quiet += 1;
    }
    if (!document.hidden) timer = setTimeout(look, quiet < 20 ? QUICK : SLOW);
  }

  function say(words) {
    trouble.textContent = words;
    trouble.hidden = !words;
  }

  async function post(event) {
    event.preventDefault();
    if (!text.value.trim() && !photo.files.length && !position) {
      say("Write something, or add a photo or your position.");
      text.focus();
      return;
    }
    send.disabled = true;
    say("");
    try {
      const answer = await fetch(pen.action, {
        method: "POST",
        body: new FormData(pen),
        headers: { Accept: "application/json" },
      });
      if (answer.status === 413) {
        say("That photo is too large. Up to 2 MB go through.");
        return;
      }
      if (!(answer.headers.get("Content-Type") || "").includes("json")) {
        say("This page has grown too old. Copy your words, load it again, and send them.");
        return;
      }
      const said = await answer.json();
      if (!answer.ok) {
        say(said.why);
        return;
      }
      field("entry").value = said.entry;
      text.value = "";
      photo.value = "";
      leave();
      quiet = 0;
      await look();
    } catch {
      say("No signal, it seems. Your words are still here: press Send again later, it arrives once.");
    } finally {
      send.disabled = false;
    }
  }

  function leave() {
    position = null;
    ["lat", "lon", "accuracy"].forEach((name) => (field(name).value = ""));
    where.textContent = "";
    here.textContent = "Add my position";
  }

  function locate() {
    if (position) {
      leave();
      return;
    }
    where.textContent = "Looking for your position. In a gully this can take a minute.";
    navigator.geolocation.getCurrentPosition(
      (found) => {
        position = found.coords;
        field("lat").value = position.latitude;
        field("lon").value = position.longitude;
        field("accuracy").value = position.accuracy;
        where.textContent =
          "Goes along: " + position.latitude.toFixed(5) + ", " + position.longitude.toFixed(5) +
          ", good to " + Math.round(position.accuracy) + " m.";
        here.textContent = "Leave my position out";
      },
      () => {
        where.textContent = "No position to be had. Type it instead, or name a place nearby.";
      },
      { enableHighAccuracy: true, timeout: 60000, maximumAge: 30000 },
    );
  }

  pen.addEventListener("submit", post);
  if (navigator.geolocation && window.isSecureContext) {
    here.hidden = false;
    here.addEventListener("click", locate);
  }
  document.addEventListener("visibilitychange", () => document.hidden || look());
  look();
})();

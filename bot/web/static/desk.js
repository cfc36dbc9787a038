/* The desk with JavaScript: the list keeps itself up to date, a text's cost shows while it is
   written, ready-made sentences are put in. All of it is extra; the pages work without. */
"use strict";

(function () {
  const AGAIN = 15000;
  const list = document.getElementById("list");
  const body = document.getElementById("body");

  /* Put the new list in, and the keyboard back on the find where it was. */
  function replaceList(html) {
    const entry = list.contains(document.activeElement) && document.activeElement.closest(".entry");
    const held = entry ? entry.dataset.code : "";
    const onRow = document.activeElement.matches("[data-stop]");
    const before = codes();
    list.innerHTML = html;
    if (held) {
      const again = list.querySelector(`[data-code="${CSS.escape(held)}"]`);
      const target = again && again.querySelector(onRow ? "[data-stop]" : "button, [data-stop]");
      (target || list.querySelector("[data-stop]") || document.getElementById("main")).focus();
    }
    const fresh = codes().filter((code) => !before.includes(code)).length;
    if (fresh) document.getElementById("news").textContent = `${fresh} new on the list`;
  }

  function codes() {
    return [...list.querySelectorAll("[data-code]")].map((entry) => entry.dataset.code);
  }

  let waiting;

  async function renew() {
    clearTimeout(waiting);
    // A list that changed under a finger would open the wrong find.
    if (!document.hidden && !list.querySelector(".entry:hover")) {
      try {
        const answer = await fetch(list.dataset.again, { redirect: "error" });
        if (answer.ok) replaceList(await answer.text());
      } catch {
        /* The stamp below the list says how old it is. */
      }
    }
    waiting = setTimeout(renew, AGAIN);
  }

  function weigh() {
    const cost = document.getElementById("cost");
    const text = body.value.replace(/\r?\n/g, "\n").trim();
    if (!text) {
      cost.textContent = "";
      return;
    }
    const { outside, segments } = globalThis.bushpostSegments;
    const count = segments(text);
    const odd = outside(text);
    let words = `${[...text].length} characters`;
    if (body.dataset.sms) words += `, ${count} segment${count > 1 ? "s" : ""}`;
    if (body.dataset.sms && odd) words += `. More than twice the price for: ${[...odd].join(" ")}`;
    cost.textContent = words;
  }

  if (list) {
    waiting = setTimeout(renew, AGAIN);
    // Whoever comes back to the page sees how things are now, not how they were.
    document.addEventListener("visibilitychange", () => document.hidden || renew());
  }
  if (body) {
    body.addEventListener("input", weigh);
    for (const link of document.querySelectorAll("[data-ready]")) {
      link.addEventListener("click", (event) => {
        event.preventDefault();
        body.value = [body.value.trim(), link.dataset.ready].filter(Boolean).join(" ");
        weigh();
        body.focus();
      });
    }
    weigh();
  }
})();

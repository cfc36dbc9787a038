/* Single keys on the desk's pages, for those who keep a hand on the keyboard: n and b walk over what
   carries data-stop, any other goes to what carries it in data-key, first of all beside the walker.
   They can be switched off (WCAG 2.2, 2.1.4) and are silent while something is being written. */
"use strict";

(function () {
  const KEPT = "bushpost-keys";
  const line = document.getElementById("keys");
  if (!line) return;
  const button = document.getElementById("keys-switch");

  function on() {
    try {
      return localStorage.getItem(KEPT) !== "off";
    } catch {
      return true;
    }
  }

  function show() {
    button.setAttribute("aria-pressed", String(on()));
    button.textContent = on() ? "Keys are on" : "Keys are off";
    document.getElementById("keys-words").hidden = !on();
  }

  function shown(element) {
    return element.checkVisibility ? element.checkVisibility() : element.offsetParent !== null;
  }

  function walk(step) {
    const stops = [...document.querySelectorAll("[data-stop]")].filter(shown);
    if (!stops.length) return;
    const entry = document.activeElement.closest(".entry");
    const here = stops.findIndex((stop) => stop === document.activeElement || (entry && entry.contains(stop)));
    const next = here < 0 ? (step > 0 ? 0 : stops.length - 1) : Math.min(Math.max(here + step, 0), stops.length - 1);
    stops[next].focus();
  }

  function go(key) {
    const entry = document.activeElement.closest(".entry");
    const mark = `[data-key="${CSS.escape(key)}"]`;
    const there = (entry && entry.querySelector(mark)) || [...document.querySelectorAll(mark)].find((e) => !e.closest(".entry") && shown(e));
    if (!there) return false;
    if (there.matches("button, a, summary")) there.click();
    else there.focus();
    return true;
  }

  document.addEventListener("keydown", (event) => {
    if (!on() || event.ctrlKey || event.metaKey || event.altKey || event.key.length !== 1) return;
    if (event.target.closest("input, textarea, select, [contenteditable], .leaflet-container")) return;
    const key = event.key.toLowerCase();
    if (key === "n" || key === "b") walk(key === "n" ? 1 : -1);
    else if (!go(key)) return;
    event.preventDefault();
  });

  button.addEventListener("click", () => {
    try {
      localStorage.setItem(KEPT, on() ? "off" : "on");
    } catch {
      /* Without storage the keys stay on for this page. */
    }
    show();
  });
  line.hidden = false;
  show();
})();

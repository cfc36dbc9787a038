/* The desk with JavaScript: the list keeps itself up to date, and a text's cost shows while it is
   written. Both are extras; the pages work without. */
"use strict";

(function () {
  const AGAIN = 15000;
  const list = document.getElementById("list");
  const body = document.getElementById("body");

  async function renew() {
    // A list that changed under a finger or a keyboard would open the wrong find.
    if (!document.hidden && !list.contains(document.activeElement)) {
      try {
        const answer = await fetch(list.dataset.again, { redirect: "error" });
        if (answer.ok) list.innerHTML = await answer.text();
      } catch {
        /* The stamp below the list says how old it is. */
      }
    }
    setTimeout(renew, AGAIN);
  }

  let waiting = 0;
  async function weigh() {
    const cost = document.getElementById("cost");
    if (!body.value.trim()) {
      cost.textContent = "";
      return;
    }
    const asked = body.value;
    const form = new FormData(body.form);
    try {
      const answer = await fetch(body.dataset.cost, { method: "POST", body: form, redirect: "error" });
      if (answer.ok && asked === body.value) cost.textContent = await answer.text();
    } catch {
      cost.textContent = "";
    }
  }

  if (list) setTimeout(renew, AGAIN);
  if (body) {
    body.addEventListener("input", () => {
      clearTimeout(waiting);
      waiting = setTimeout(weigh, 250);
    });
    weigh();
  }
})();

/* Correct a place by clicking on a map. The library is fetched only when somebody opens the map;
   how exact the click is follows from how far the map is zoomed in. */
"use strict";

(function () {
  const own = document.currentScript;
  const form = document.getElementById("place-form");
  if (!form) return;
  const button = document.getElementById("open-map");
  const box = document.getElementById("place-map");
  const set = document.getElementById("place-set");
  const said = document.getElementById("place-words");
  const FINGER = 12; /* pixels that a click may be off */
  let map = null;
  let circle = null;

  function load(tag, attributes) {
    return new Promise((done, fail) => {
      const element = Object.assign(document.createElement(tag), attributes);
      element.addEventListener("load", done);
      element.addEventListener("error", fail);
      document.head.append(element);
    });
  }

  async function draw() {
    await load("link", { rel: "stylesheet", href: own.dataset.sheet });
    await load("link", { rel: "stylesheet", href: own.dataset.style });
    await load("script", { src: own.dataset.library });
    await load("script", { src: own.dataset.drawing });
    map = globalThis.bushpostMap.open(box, button.dataset.tiles);
    const under = await globalThis.bushpostMap.ground(map, button.dataset.ground);
    map.fitBounds(under.getBounds());
    const over = await globalThis.bushpostMap.finds(map, button.dataset.find, "");
    if (over.getLayers().length) map.fitBounds(over.getBounds().pad(0.5), { maxZoom: 13 });
    map.on("click", (event) => choose(event.latlng));
    box.dataset.drawn = "yes";
  }

  function choose(at) {
    const step = map.latLngToContainerPoint(at).add([FINGER, 0]);
    const accuracy = Math.max(10, Math.round(map.distance(at, map.containerPointToLatLng(step))));
    form.elements.lat.value = at.lat.toFixed(6);
    form.elements.lon.value = at.wrap().lng.toFixed(6);
    form.elements.accuracy_m.value = accuracy;
    if (circle) circle.remove();
    circle = L.circle(at, { radius: accuracy, color: "#8c1c10" }).addTo(map);
    said.textContent = `${at.lat.toFixed(5)}, ${at.lng.toFixed(5)}, good to ${accuracy} m`;
    set.disabled = false;
  }

  /* Without a mouse: the middle of the map, moved by the arrow keys, is taken with Enter. */
  box.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !map || event.target !== box) return;
    event.preventDefault();
    choose(map.getCenter());
  });

  button.addEventListener("click", async () => {
    const opened = box.hidden;
    box.hidden = !opened;
    document.getElementById("place-choice").hidden = !opened;
    button.setAttribute("aria-expanded", String(opened));
    if (opened && !map) await draw();
    if (opened) box.focus();
  });

  form.hidden = false;
})();

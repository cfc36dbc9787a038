/* The map of the finds, and the drawing that the card's small map shares. Names come from hunters
   and from programmes: they are put in as text, never as HTML. */
"use strict";

globalThis.bushpostMap = (function () {
  const STYLES = {
    zone: { color: "#54503f", weight: 1, dashArray: "6 4", fill: false, interactive: false },
    track: { color: "#857a5c", weight: 2, interactive: false },
    kill: { color: "#7b2d1b", weight: 2, fillOpacity: 0.06 },
    head: { color: "#234f43", weight: 2, fillOpacity: 0.06 },
  };

  function words(text) {
    const element = document.createElement("span");
    element.textContent = text;
    return element;
  }

  function mark(sort) {
    return L.divIcon({ className: `mark-${sort}`, iconSize: [14, 14], html: "" });
  }

  function open(element, tiles) {
    const map = L.map(element, { attributionControl: false, zoomControl: true });
    L.control.scale({ imperial: false }).addTo(map);
    if (tiles) L.tileLayer(tiles, { maxZoom: 19 }).addTo(map);
    return map;
  }

  /* The ground, as a layer; its bounds are what the map first shows. */
  async function ground(map, address) {
    const data = await (await fetch(address)).json();
    return L.geoJSON(data, {
      style: (feature) => STYLES[feature.properties.sort],
      pointToLayer: (feature, at) =>
        L.marker(at, { icon: mark(feature.properties.sort), keyboard: false, alt: feature.properties.name }),
      onEachFeature: (feature, layer) => {
        const { sort, name } = feature.properties;
        const named = sort === "landmark" || sort === "base";
        if (named) layer.bindTooltip(words(name), { direction: "right", offset: [6, 0] });
        if (sort === "zone") layer.bindTooltip(words(name), { permanent: true, direction: "center", className: "zone-name" });
      },
    }).addTo(map);
  }

  /* Finds: a mark each, and the circle of its accuracy. */
  async function finds(map, address, card) {
    const data = await (await fetch(address)).json();
    const group = L.featureGroup();
    for (const feature of data.features) {
      const { sort, code, accuracy_m: accuracy, species, opened_at: opened } = feature.properties;
      const [lon, lat] = feature.geometry.coordinates;
      L.circle([lat, lon], { ...STYLES[sort], radius: accuracy, interactive: false }).addTo(group);
      const title = `${code}, ${sort === "kill" ? "died here" : "head here"}`;
      const point = L.marker([lat, lon], { icon: mark(sort), title, alt: title, keyboard: Boolean(card) });
      if (card) {
        const box = document.createElement("div");
        const link = document.createElement("a");
        link.href = card.replace("CODE", encodeURIComponent(code));
        link.textContent = code;
        box.append(link, words(` ${species || "animal not known"}, ${opened.slice(0, 10)}, good to ${accuracy} m`));
        point.bindPopup(box);
      }
      point.addTo(group);
    }
    group.addTo(map);
    return group;
  }

  async function page(element) {
    element.hidden = false;
    const map = open(element, element.dataset.tiles);
    const under = await ground(map, element.dataset.ground);
    map.fitBounds(under.getBounds().pad(0.05));
    const over = await finds(map, element.dataset.finds, element.dataset.card);
    if (over.getLayers().length) map.fitBounds(over.getBounds().pad(0.15), { maxZoom: 13 });
    element.dataset.drawn = "yes";
  }

  const element = document.getElementById("map");
  if (element) page(element);
  return { open, ground, finds };
})();

/* What a text costs while it is being written: the same reckoning as bot/talk/segments.py, against
   which a test holds it. Alphabet and lengths: 3GPP TS 23.038 section 6.2.1 and TS 23.040. */
"use strict";

globalThis.bushpostSegments = (function () {
  const BASIC = new Set(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?" +
      "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà",
  );
  const EXTENDED = new Set("\f^{}\\[~]|€");

  /* The characters that force a text into UCS-2, each once, in order. */
  function outside(text) {
    return [...new Set([...text].filter((c) => !BASIC.has(c) && !EXTENDED.has(c)))].join("");
  }

  function segments(text) {
    const plain = outside(text) === "";
    const [single, part] = plain ? [160, 153] : [70, 67];
    const sizes = [...text].map((c) => (plain ? (EXTENDED.has(c) ? 2 : 1) : c.length));
    if (sizes.reduce((sum, size) => sum + size, 0) <= single) return 1;
    let count = 1;
    let room = part;
    for (const size of sizes) {
      if (size > room) {
        count += 1;
        room = part;
      }
      room -= size;
    }
    return count;
  }

  return { outside, segments };
})();

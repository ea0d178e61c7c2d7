// What every page of the desk shares: asking the desk for something, and the shapes of the verdicts. Nothing here makes
// HTML of text: what comes from elsewhere stands as text alone.
"use strict";

const desk = {
  token: document.querySelector('meta[name="desk-token"]')?.content ?? "",
  commands: document.body.dataset.commands === "yes",

  async post(path, body) {
    try {
      const response = await fetch(path, {
        method: "POST", credentials: "same-origin", cache: "no-store",
        headers: { "Content-Type": "application/json", "X-Desk-Token": desk.token }, body: JSON.stringify(body),
        signal: AbortSignal.timeout(5000)
      });
      if (response.status === 401) location.assign("/pair");
      const text = await response.text();
      try { return { status: response.status, ...JSON.parse(text) }; } catch { return { status: response.status, words: text.trim() }; }
    } catch {
      return { status: 0, words: "the desk does not answer: is this phone in the hall's network?" };
    }
  },

  element(name, attributes = {}, ...children) {
    const made = document.createElement(name);
    for (const [key, value] of Object.entries(attributes)) if (value !== null && value !== undefined) made.setAttribute(key, value);
    made.append(...children);
    return made;
  },
  drawn(name, attributes = {}, ...children) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    made.append(...children);
    return made;
  },
  save(name, text) {
    const link = desk.element("a", { href: URL.createObjectURL(new Blob([text], { type: "text/plain" })), download: name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  }
};

// The middle is 0, the height 1; the same shapes as on stage and page.
const half = (x, side) => `M${x + side * 0.15} -0.403A0.43 0.43 0 0 ${side > 0 ? 1 : 0} ${x + side * 0.15} 0.403Z`;
const shapes = {
  "on time": ["good", "M-.075 -.5h.15v1h-.15z" + half(0, -1) + half(0, 1)],
  "around": ["good", "M-.075 -.11h.15v.61h-.15zM-.425 .25V-.075A.425 .425 0 0 1 .425 -.075V.27H.275V-.075A.275 .275 0 0 0 -.275 -.075V.25ZM.16 .31a.19 .19 0 1 0 .38 0a.19 .19 0 1 0 -.38 0Z"],
  "early": ["bad", "M.105 -.5h.15v1h-.15z" + half(0.18, -1)],
  "late": ["bad", "M-.255 -.5h.15v1h-.15z" + half(-0.18, 1)],
  "clash": ["bad", "M-.575 -.5L-.02 0L-.575 .5ZM.575 -.5L.02 0L.575 .5Z"],
  "got hit": ["bad", "M-.575 -.5L-.02 0L-.575 .5ZM.575 -.5L.02 0L.575 .5ZM.506 -.315L.156 0L.506 .315Z"],
  "missed": ["bad", "M-.495 -.495h.99v.99h-.99zM-.345 -.345v.69h.69v-.69z"],
  "wrong pad": ["bad", "M-.56 -.345h.69v.69h-.69zM-.43 -.215v.43h.43v-.43zM.14 -.2h.4v.4h-.4z"],
  "no step": ["bad", "M-.315 -.5h.63v.63h-.63zM-.185 -.37v.37h.37v-.37zM-.5 .34h1v.16h-1z"],
  "gave ground": ["bad", "M-.52 -.5h.16v1h-.16zM-.085 -.325h.65v.65h-.65zM.045 -.195v.39h.39v-.39z"],
  "held": ["held", "M0 -.54L.54 0L0 .54L-.54 0Z"],
  "took the feint": ["bad", "M-.595 -.05L-.085 -.56L.425 -.05ZM-.425 .05L.085 .56L.595 .05Z"]
};

desk.shape = (verdict) => {
  const svg = desk.drawn("svg", { class: "shape", viewBox: "-0.65 -0.65 1.3 1.3", "aria-hidden": "true" });
  const known = shapes[verdict];
  svg.classList.add(known ? known[0] : "void");
  svg.append(known ? desk.drawn("path", { d: known[1], fill: "currentColor", "fill-rule": "evenodd" })
    : desk.drawn("circle", { r: 0.43, fill: "none", stroke: "currentColor", "stroke-width": 0.11, "stroke-dasharray": "0.215 0.123" }));
  return svg;
};
desk.family = (verdict) => (shapes[verdict] ?? ["void"])[0];

// Whoever watches sees no button that would be refused.
if (!desk.commands) for (const each of document.querySelectorAll(".command")) each.hidden = true;

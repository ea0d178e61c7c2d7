// What the partner is asked next: each kind a large button, one at a time or a list; the coach's page alone.
"use strict";

(() => {
  const at = (id) => document.getElementById(id);
  // The leg of each kind, as on stage: hip at 10, floor at 36.
  const legs = {
    single: [["up", 48, 2]], rebound: [["up", 48, 2], ["up", 52, 12]], carry: [["up", 50, 14]], reset: [["up", 48, 2], ["gap", 44, 34]],
    "leg-to-hands": [["up", 44, 8], ["gap", 30, 4]], feint: [["lift", 44, 26]], nothing: []
  };
  const picture = (kind) => {
    const svg = desk.drawn("svg", { viewBox: "0 0 64 40", "aria-hidden": "true" },
      desk.drawn("line", { x1: 6, x2: 58, y1: 14, y2: 14, stroke: "var(--line)", "stroke-width": 1.5 }),
      desk.drawn("line", { x1: 6, x2: 58, y1: 38, y2: 38, stroke: "var(--line)" }),
      desk.drawn("line", { class: "limb", x1: 24, y1: 14, x2: 21, y2: 37, "stroke-width": 5, "stroke-linecap": "round" }));
    for (const [part, x, y] of legs[kind] ?? [])
      svg.append(desk.drawn("line", { x1: 24, y1: 14, x2: x, y2: y, stroke: `var(--${part === "up" ? "clash" : part})`, "stroke-width": 5, "stroke-linecap": "round" }));
    return svg;
  };
  const words = (kind) => kind.replaceAll("-", " ");
  let shown = "", said = () => {};
  const ask = async (text) => said((await desk.post("/ask", { what: "partner_next", athlete: "", text })).words ?? "");
  const list = () => at("listed").getAttribute("aria-pressed") === "true";

  desk.partner_next = (view, say) => {
    said = say;
    const next = view.partner_next, cue = view.cue;
    at("partner").hidden = !next && !cue;
    at("partner-title").textContent = next?.partner ? `Next kick of ${next.partner}` : "Next kick of the partner";
    at("partner-cue").textContent = cue ? `now: ${cue.what}` : "";
    at("partner-list").textContent = !next ? "" : next.listed.length ? `then ${next.listed.map(words).join(", ")}${next.planned ? "; after those as planned" : ""}`
      : next.planned ? `by the plan: ${words(next.planned)}` : "as planned";
    const kinds = next?.kinds ?? [];
    if (kinds.join() === shown) return mark(next);
    shown = kinds.join();
    at("kinds").replaceChildren(...kinds.map((kind) => {
      const button = desk.element("button", { type: "button", "data-kind": kind }, picture(kind), words(kind));
      button.addEventListener("click", () => ask(list() ? `+${kind}` : kind));
      return button;
    }));
    mark(next);
  };
  const mark = (next) => {
    for (const button of document.querySelectorAll("#kinds button")) button.setAttribute("aria-pressed", String(next?.listed[0] === button.dataset.kind));
  };
  at("listed").addEventListener("click", () => at("listed").setAttribute("aria-pressed", String(!list())));
  at("planned").addEventListener("click", () => ask(""));
})();

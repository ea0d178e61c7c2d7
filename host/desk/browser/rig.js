// The rig as it is now, live; a calibration is begun here where no evening runs.
"use strict";

(() => {
  const at = (id) => document.getElementById(id);
  const ago = (seconds) => seconds < 90 ? `${seconds} s ago` : `${Math.round(seconds / 60)} min ago`;
  const now_of = (part) => part.kind === "pad" ? (part.strikes ? `${part.strikes} strikes, the last ${ago(part.last_s)}` : "not struck tonight")
    : part.kind !== "gate" ? "there" : part.blocked_s !== null ? (part.blocked_s >= 3 ? `blocked for ${part.blocked_s} s: clear its beam or align it` : "broken just now")
      : part.last_s !== null ? `clear for ${part.last_s < 90 ? `${part.last_s} s` : `${Math.round(part.last_s / 60)} min`}` : "clear";
  const show = (view) => {
    const rig = view.rig_now;
    at("rig-says").textContent = !rig.board ? "No rig has answered yet." : `Rig ${rig.board}: ${rig.answers ? desk.rig_words(view) : `does not answer${rig.heard_s === null ? "" : `, heard last ${ago(rig.heard_s)}`}: check the cable`}. ` +
      `Line: about ${rig.frames} frames, ${rig.damaged || "none"} damaged, ${rig.lost || "no"} events lost.`;
    at("parts").replaceChildren(...rig.parts.map((part) => {
      const wrong = part.kind === "gate" && part.blocked_s !== null && part.blocked_s >= 3;
      return desk.element("tr", {}, desk.element("th", { scope: "row" }, `${part.kind} ${part.role}`), desk.element("td", { class: wrong ? "bad" : null }, now_of(part)));
    }));
    at("notices").replaceChildren(...(rig.notices.length ? rig.notices.map((each) => desk.element("li", {}, desk.element("span", { class: "grow" }, each.words, desk.element("small", {}, ago(each.ago_s)))))
      : [desk.element("li", { class: "quiet" }, "nothing")]));
  };
  if (at("parts")) {
    const state = { run: "", upto: 0, line: null };
    desk.live(state, (message) => {
      state.run = message.run;
      state.upto = message.upto;
      if (message.view) show(message.view);
    });
  }
  at("calibrate")?.addEventListener("click", async () => { at("rig-said").textContent = (await desk.post("/calibrate", {})).words ?? ""; });
})();

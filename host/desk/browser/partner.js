// The partner's own screen: one cue, large, while it stands.
"use strict";

(() => {
  const at = (id) => document.getElementById(id);
  const state = { run: "", upto: 0, line: null };
  const screen = document.querySelector(".partner-screen");
  // A cue that may be over is worse than none.
  state.lost = () => {
    at("partner-what").textContent = "";
    at("partner-side").textContent = "";
    at("partner-who").textContent = "Not connected: wait";
    screen.classList.remove("now");
  };
  desk.live(state, (message) => {
    state.run = message.run;
    state.upto = message.upto;
    const view = message.view;
    if (!view) return;
    const { cue, task } = view;
    at("partner-who").textContent = cue?.partner || task?.partner || (view.partner_next ? "The partner" : "Nobody kicks now");
    at("partner-what").textContent = cue ? cue.what : view.partner_next && view.rig === "running" ? "wait" : "";
    at("partner-side").textContent = cue && !cue.feint ? `${cue.lead} leg in front` : "";
    screen.classList.toggle("now", Boolean(cue));
  });
})();

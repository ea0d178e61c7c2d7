// The live line: views and reps by WebSocket. Each rep has a number; after a gap the line is opened again from the last
// number that came, so that nothing is lost or comes twice.
"use strict";

// `state`: {run, upto}, kept by the page; `take` gets each message that is no pong.
desk.live = (state, take) => {
  const at = (id) => document.getElementById(id);
  let wait = 500, last_heard = performance.now();
  const silent_too_long = 9000;  // two pings and some
  const mark = (on, words) => {
    state.fresh = on;
    at("live").classList.toggle("on", on);
    document.body.classList.toggle("stale", !on);
    at("live-words").textContent = words;
    if (!on) state.lost?.();
  };
  const ping = () => { if (state.line?.readyState === WebSocket.OPEN) state.line.send(JSON.stringify({ ping: performance.now() })); };
  const heard = (message) => {
    if (!("pong" in message)) return take(message);
    mark(true, `live, give or take ${Math.round((performance.now() - message.pong) / 2 + 17)} ms`);
  };
  const open = () => {
    const scheme = location.protocol === "https:" ? "wss:" : "ws:";
    const line = new WebSocket(`${scheme}//${location.host}/live?run=${encodeURIComponent(state.run)}&from=${state.upto}`);
    state.line = line;
    line.onopen = () => { wait = 500; last_heard = performance.now(); mark(true, "live"); ping(); };
    line.onmessage = (message) => { last_heard = performance.now(); heard(JSON.parse(message.data)); };
    line.onclose = () => { if (state.line === line) again(); };
  };
  const again = () => {
    mark(false, state.view?.over ? "the evening is over" : "not connected; trying again");
    state.line = null;
    setTimeout(open, wait);
    wait = Math.min(4000, wait * 2);
  };
  // A network that holds the bytes back closes nothing: what answers no ping is as good as gone.
  const look = () => {
    const line = state.line;
    if (line?.readyState === WebSocket.OPEN && performance.now() - last_heard > silent_too_long) {
      again();
      line.close();
      return;
    }
    ping();
  };
  setInterval(look, 3000);
  // A screen that is looked at stays lit, where the browser lets it.
  const stay_lit = () => { if (!document.hidden) navigator.wakeLock?.request("screen").catch(() => {}); };
  document.addEventListener("visibilitychange", stay_lit);
  stay_lit();
  // A phone that wakes does not wait for its own timers.
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) return;
    if (!state.line || state.line.readyState > WebSocket.OPEN) { wait = 500; if (!state.line) return; }
    ping();
  });
  open();
};

// The rig in a line: what is there of it and how it stands.
desk.rig_words = (view) => {
  const rig = view.rig_now;
  if (!view.rig_here || !rig.answers) return "the rig does not answer";
  const pads = rig.parts.filter((each) => each.kind === "pad"), gates = rig.parts.filter((each) => each.kind === "gate");
  const blocked = gates.filter((each) => each.blocked_s !== null && each.blocked_s >= 3);
  const bound = rig.bound_us === null ? "clock not known yet" : `clock within ${(rig.bound_us / 1000).toFixed(1)} ms`;
  return `${pads.length} pads, ${blocked.length ? `${blocked.map((each) => each.role).join(" and ")} gate blocked` : `${gates.length} gates`}, ${bound}`;
};

// One rep again: the limb and the strip at any moment, from the poses that the desk worked out.
"use strict";

(() => {
  const at = (id) => document.getElementById(id);
  const floor = 150, hip = 75, middle = 120, height = 75;
  let rep = null, timer = 0;

  const pose_at = (ms) => {
    const [first] = rep.poses;
    const index = Math.min(rep.poses.length - 1, Math.max(0, Math.round((ms - first[0]) / rep.step_ms)));
    return rep.poses[index];
  };
  const phase_at = (ms) => rep.phases.find((each) => ms >= each.from_ms && ms < each.to_ms)?.phase ?? "guard";
  const kind = (phase) => ["lift", "drop", "gap"].includes(phase) ? phase : phase === "guard" ? "guard" : "up";
  const show = () => {
    const ms = Number(at("replay-at").value), [, angle, reach] = pose_at(ms), turn = angle * Math.PI / 180;
    const foot = [middle + height * reach * Math.sin(turn), hip + height * reach * Math.cos(turn)];
    const scale = 260 / (rep.to - rep.from), x = (time) => 20 + (time - rep.from) * scale;
    const parts = rep.phases.map((each) => desk.drawn("rect", { class: `part-${kind(each.phase)}`, x: x(each.from_ms), y: 172, width: Math.max(1, (each.to_ms - each.from_ms) * scale), height: kind(each.phase) === "gap" ? 12 : 24 }));
    const mark = (time, y, tall) => desk.drawn("rect", { x: x(time) - 1, y, width: 2, height: tall, fill: "currentColor" });
    const svg = desk.drawn("svg", { viewBox: "0 0 300 212", role: "img", "aria-label": `The leg ${Math.round(ms)} ms after toe-off: ${phase_at(ms)}` },
      desk.drawn("line", { x1: 0, x2: 300, y1: hip, y2: hip, stroke: "var(--line)", "stroke-width": 1.5 }),
      desk.drawn("line", { x1: 0, x2: 300, y1: floor, y2: floor, stroke: "var(--line)" }),
      desk.drawn("line", { class: "limb", x1: middle, y1: hip, x2: middle - 6, y2: floor, "stroke-width": 7, "stroke-linecap": "round", opacity: 0.4 }),
      desk.drawn("line", { class: "limb", x1: middle, y1: hip, x2: foot[0], y2: foot[1], "stroke-width": 11, "stroke-linecap": "round" }),
      ...parts, ...(rep.contact_ms === null ? [] : [mark(rep.contact_ms, 162, 40)]), ...(rep.commit_ms === null ? [] : [mark(rep.commit_ms, 198, 8)]),
      desk.drawn("circle", { cx: x(ms), cy: 204, r: 5, fill: "currentColor" }));
    at("replay-picture").replaceChildren(svg);
    at("replay-time").textContent = `${(ms / 1000).toFixed(2)} s after toe-off`;
    at("replay-phase").textContent = `${phase_at(ms)}${rep.contact_ms !== null && Math.abs(ms - rep.contact_ms) <= rep.step_ms / 2 ? ": the contact" : ""}`;
  };
  const stop = () => { clearInterval(timer); timer = 0; };
  const play = (speed) => {
    stop();
    at("replay-at").value = rep.from;
    const began = performance.now();
    timer = setInterval(() => {
      const ms = rep.from + (performance.now() - began) * speed;
      at("replay-at").value = Math.min(rep.to, ms);
      show();
      if (ms >= rep.to) stop();
    }, 33);
  };
  const step = (by) => { stop(); at("replay-at").value = Number(at("replay-at").value) + by; show(); };

  desk.replay = async (seen) => {
    const response = await fetch(`/replay?session=${seen.session}&rep=${seen.rep}`, { cache: "no-store" });
    if (!response.ok) return;
    rep = await response.json();
    rep.from = rep.poses[0][0];
    rep.to = rep.poses[rep.poses.length - 1][0];
    at("replay-title").textContent = `Rep ${seen.number ?? ""}: ${rep.word}`;
    at("replay-line").textContent = rep.line.trim();
    Object.assign(at("replay-at"), { min: rep.from, max: rep.to, step: rep.step_ms / 2 });
    at("replay-at").value = rep.contact_ms ?? 0;
    show();
    at("replay").showModal();
  };
  at("replay-at").addEventListener("input", () => { stop(); show(); });
  at("replay-before").addEventListener("click", () => step(-rep.step_ms));
  at("replay-after").addEventListener("click", () => step(rep.step_ms));
  at("replay-slow").addEventListener("click", () => play(0.2));
  at("replay-real").addEventListener("click", () => play(1));
  at("replay").addEventListener("close", stop);
})();

// Taps beside a video. The video never leaves this computer: the browser plays the file itself, and only the times of
// the taps are asked about.
"use strict";

(() => {
  const at = (id) => document.getElementById(id);
  const video = at("video");
  const taps = { a: [], b: [] };
  window.deskTaps = taps;
  const whose = () => document.querySelector("input[name=whose]:checked").value;
  let asked = 0, spaced = false;
  const tapped = [];  // in the order in which they were made, which is not that of the video

  const frame_s = 1 / 30, held_s = 0.06;
  const show = () => {
    // A recording may not say how long it is before it was played to its end.
    const length = Number.isFinite(video.duration) && video.duration > 0 ? video.duration : Math.max(1, video.currentTime, ...taps.a, ...taps.b);
    const bar = (kind) => (time) => desk.drawn("rect", { class: kind, x: 1000 * time / length - 3, y: kind === "a" ? 4 : 32, width: 6, height: 24 });
    at("bars").replaceChildren(...taps.a.map(bar("a")), ...taps.b.map(bar("b")), desk.drawn("rect", { class: "now", x: 1000 * video.currentTime / length - 1, y: 0, width: 2, height: 60 }));
  };
  const counted = () => { at("taps-count").textContent = `${taps.a.length} of the first one, ${taps.b.length} of the other`; };
  const cells = (json) => {
    at("cells").replaceChildren();
    at("cells-words").textContent = "";
    at("cells").setAttribute("aria-hidden", "true");
    at("cells").removeAttribute("role");
    if (!json || !json.scored) return;
    at("cells").removeAttribute("aria-hidden");
    at("cells").setAttribute("role", "img");
    const wide = 1000 / Math.max(18, json.scored);
    for (let i = 0; i < json.scored; ++i)
      at("cells").append(desk.drawn("rect", { class: i < json.hits ? "caught" : "free", x: i * wide + 3, y: 12, width: wide - 6, height: 44 }));
    at("cells").append(desk.drawn("rect", { class: "luck", x: json.chance * wide - 2, y: 0, width: 4, height: 70 }));
    at("cells-words").textContent = `${json.hits} of ${json.scored} caught, luck ${Math.round(json.chance)}`;
    at("cells").setAttribute("aria-label", at("cells-words").textContent);
  };
  const answer = async () => {
    const number = ++asked, of = [taps.a.length, taps.b.length];
    show();
    counted();
    if (taps.a.length >= 2) {
      const told = await desk.post("/timeable", { a: taps.a });
      if (number !== asked) return;
      // What is shown is the answer to so many taps.
      window.deskAnswer = { ...told, of };
      const json = told.json;
      at("answer-word").textContent = !json ? "not said" : json.tell_at !== null ? "yes" : json.hunch_at !== null ? "maybe" : "no sign";
      at("answer-words").textContent = told.words ?? "";
      cells(json);
    } else {
      at("answer-word").textContent = "tap first";
      at("answer-words").textContent = "";
      cells(null);
    }
    if (!taps.a.length || !taps.b.length) { at("leads-words").textContent = "Tap both."; return; }
    const leads = await desk.post("/leads", taps);
    if (number !== asked) return;
    window.deskLeads = { ...leads, of };
    at("leads-words").textContent = leads.words ?? "";
  };
  const tap = () => {
    const list = taps[whose()], time = Math.round(video.currentTime * 10000) / 10000;
    // A key that is held down repeats; nobody steps in so often.
    if (list.some((each) => Math.abs(each - time) < held_s)) return;
    list.push(time);
    list.sort((one, other) => one - other);
    tapped.push({ whose: whose(), time });
    answer();
  };
  // A play that a pause cuts short is none that failed.
  const play = () => { if (video.paused) video.play().catch(() => {}); else video.pause(); };

  at("file").addEventListener("change", () => {
    const [file] = at("file").files;
    if (!file) return;
    if (video.src) URL.revokeObjectURL(video.src);
    video.src = URL.createObjectURL(file);
    at("tap").focus();
  });
  // The space bar on the button makes a click of its own when it is let go: that was tapped already.
  at("tap").addEventListener("click", (event) => { if (!spaced || event.detail > 0) tap(); });
  document.addEventListener("keyup", (event) => { if (event.code === "Space") setTimeout(() => { spaced = false; }); });
  at("undo").addEventListener("click", () => {
    const last = tapped.map((each) => each.whose).lastIndexOf(whose());
    const list = taps[whose()];
    if (last < 0) list.pop();
    else list.splice(list.indexOf(tapped.splice(last, 1)[0].time), 1);
    answer();
  });
  at("play").addEventListener("click", play);
  at("frame").addEventListener("click", () => { video.pause(); video.currentTime += frame_s; });
  at("half").addEventListener("click", () => {
    const half = video.playbackRate === 1;
    video.playbackRate = half ? 0.5 : 1;
    at("half").setAttribute("aria-pressed", String(half));
  });
  at("clear").addEventListener("click", () => { taps.a.length = taps.b.length = tapped.length = 0; answer(); });
  at("keep").addEventListener("click", () => {
    const both = taps.b.length > 0;
    const rows = both ? [...taps.a.map((time) => [time, "a"]), ...taps.b.map((time) => [time, "b"])].sort((one, other) => one[0] - other[0]) : taps.a.map((time) => [time]);
    desk.save(both ? "step-ins-of-both.csv" : "step-ins.csv", `${both ? "time_s,who" : "time_s"}\n${rows.map((row) => [row[0].toFixed(4), ...row.slice(1)].join(",")).join("\n")}\n`);
  });
  at("keep-of")?.addEventListener("click", async () => {
    const athlete = at("of").value;
    at("kept").textContent = athlete ? (await desk.post("/keep", { athlete, a: taps.a, b: taps.b })).words ?? "" : "Choose whose step-ins they are.";
  });
  // Kept ones come back by the address that an athlete's page names.
  const again = new URLSearchParams(location.search);
  if (again.has("athlete")) {
    if (at("of")) at("of").value = again.get("athlete");
    fetch(`/taps?${again}`, { credentials: "same-origin", cache: "no-store" }).then(async (response) => {
      if (!response.ok) return;
      const kept = await response.json();
      taps.a.push(...kept.a);
      taps.b.push(...kept.b);
      at("kept").textContent = `these were kept on ${kept.day}`;
      answer();
    });
  }
  for (const event of ["play", "pause"]) video.addEventListener(event, () => { at("play").textContent = video.paused ? "Play" : "Pause"; });
  for (const event of ["timeupdate", "seeked", "loadedmetadata"]) video.addEventListener(event, show);
  // Space taps wherever it means nothing else.
  document.addEventListener("keydown", (event) => {
    if (event.code !== "Space" || event.repeat) return;
    const on = document.activeElement;
    if (on && on !== at("tap") && on !== video && on.matches("button, input, textarea, a, summary, pre")) return;
    event.preventDefault();
    spaced = on === at("tap");
    tap();
  });
  counted();
})();

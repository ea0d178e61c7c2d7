// The evening as it runs: views and reps by the live line, requests by POST. Each rep has a number; after a gap the line
// is opened again from the last number that came, so that nothing is lost or comes twice.
"use strict";

(() => {
  const at = (id) => document.getElementById(id);
  const state = { run: "", upto: 0, reps: new Map(), order: [], view: null, line: null, stamps: [], counts: [] };
  window.deskState = state;

  const take = (message) => {
    if (message.run !== state.run) { state.run = message.run; state.upto = 0; state.reps.clear(); state.order = []; }
    for (const rep of message.reps) {
      if (rep.n !== state.upto + 1) state.counts.push(`after ${state.upto} came ${rep.n}`);
      if (rep.n <= state.upto) continue;
      state.upto = rep.n;
      rep.came = performance.now();
      const key = `${rep.session} ${rep.rep}`;
      if (!state.reps.has(key)) state.order.push(key);
      state.reps.set(key, rep);
    }
    if (message.view) state.view = message.view;
    if (message.reps.length) show_reps();
    if (message.view) show_view();
  };

  // ---- reps ----
  const name_of = (id) => state.view?.people.find((each) => each.athlete === id)?.name ?? "";
  const time_words = (rep) => rep.latency_ms === null ? "" :
    `${Math.round(rep.latency_ms)} ms${rep.give_or_take_ms === null ? "" : `, give or take ${rep.give_or_take_ms.toFixed(1)}`}`;
  const show_reps = () => {
    const all = state.order.slice(-40).map((key) => state.reps.get(key)).reverse();
    const last = all[0], meant = all.find((rep) => rep.number !== null && !rep.first);
    at("last").replaceChildren();
    if (last) {
      at("last").append(desk.shape(last.verdict), desk.element("span", { class: desk.family(last.verdict) }, last.word),
        desk.element("span", { class: "of" }, desk.element("b", {}, last.asked), time_words(last)));
    }
    at("void").dataset.ask = meant?.by_coach ? "take_back" : "void_last";
    at("void").textContent = meant?.by_coach ? `Count ${name_of(meant.athlete)}'s ${meant.number} again` : "Void last";
    // A first word may change yet: until its rep closes the button would mean the one before.
    at("void").disabled = Boolean(last?.first);
    at("void").setAttribute("aria-label", meant ? `${meant.by_coach ? "Count again" : "Void"} rep ${meant.number} of ${name_of(meant.athlete)}` : "Void last");
    at("reps").replaceChildren(...all.map((rep) => {
      const replay = desk.element("button", { class: "small", "aria-label": `Replay rep ${rep.number ?? ""} of ${name_of(rep.athlete)}` }, "replay");
      replay.addEventListener("click", () => desk.replay(rep));
      return desk.element("li", { "data-n": rep.n, "data-key": `${rep.session} ${rep.rep}`, "data-verdict": rep.verdict },
        desk.element("span", { class: "number" }, rep.number === null ? "" : String(rep.number)), desk.shape(rep.verdict),
        desk.element("span", { class: "grow" }, rep.word, desk.element("small", {}, ` ${name_of(rep.athlete)} ${rep.asked}`)), replay);
    }));
  };

  // ---- the view ----
  const minutes = (seconds) => `${Math.ceil(seconds / 60)} min`;
  let shown_until = 0;
  const said = (words) => {
    at("answer").textContent = words;
    clearTimeout(shown_until);
    shown_until = setTimeout(() => { at("answer").textContent = ""; }, 8000);
  };
  // Nothing is asked over a line that no answer comes by: it would be carried out whenever it arrives.
  const ask = async (what, athlete = "", text = "") => {
    if (!state.fresh) return said("not connected: nothing was asked");
    said((await desk.post("/ask", { what, athlete, text })).words ?? "");
  };
  const small = (words, label, act) => {
    const button = desk.element("button", { class: "small", type: "button", "aria-label": label }, words);
    button.addEventListener("click", act);
    return button;
  };
  const person_row = (words, under, ...buttons) => desk.element("li", {}, desk.element("span", { class: "grow" }, words, desk.element("small", {}, under)),
    ...(desk.commands ? buttons : []));

  // A row stays the row it was while somebody is on one of its buttons.
  const keep_focus = (list, rows) => {
    const label = list.contains(document.activeElement) ? document.activeElement.getAttribute("aria-label") : null;
    list.replaceChildren(...rows);
    if (label) [...list.querySelectorAll("button")].find((each) => each.getAttribute("aria-label") === label)?.focus();
  };

  const show_view = () => {
    const view = state.view;
    const task = view.task;
    if (view.over) { state.reps.clear(); state.order = []; show_reps(); at("last").replaceChildren(); }
    document.body.classList.toggle("over", Boolean(view.over));
    at("who").textContent = view.at_rig || (view.over ? "The evening is over" : "Nobody");
    at("task").textContent = task && view.at_rig ? `${task.drill}, set ${task.set} of ${task.sets}${task.silent ? ", without words" : ""}` : "";
    const last = state.reps.get(state.order[state.order.length - 1]);
    at("count").textContent = task && view.rig === "running" && last?.number ? `${last.number} of ${task.reps}` : view.rig === "called" ? "is called" : "";
    at("rig-words").textContent = view.paused ? "pause" : desk.rig_words(view);
    at("pause").dataset.ask = view.paused ? "go_on" : "pause";
    at("pause").textContent = view.paused ? "Go on" : "Pause";
    at("pause").classList.toggle("main", view.paused);
    at("round").textContent = view.block ? `${view.block}: ${minutes(view.block_left_s)} left` : "";
    at("left").textContent = view.over ? "over" : `${minutes(view.evening_left_s)} left`;
    at("gates").textContent = view.gates;
    keep_focus(at("turns"), view.follows.map((each, index) => {
      const person = view.people.find((one) => one.name === each.name);
      const row = person_row(each.name, ` ${person?.drill ?? ""}${each.wait_minutes ? `, ${each.wait_minutes} min` : ""}${each.gates ? `; before: ${each.gates}` : ""}`,
        ...(person ? [small("drill", `Another drill for ${each.name}`, () => other_drill(person)), small("sore", `${each.name} is sore`, () => ask("sore", person.athlete))] : []));
      if (index === 0) row.firstChild.classList.add("first");
      return row;
    }));
    const aside = view.people.filter((each) => !each.here || each.sore || each.passed_over);
    keep_focus(at("aside"), aside.length ? aside.map((each) => person_row(each.name, each.sore ? " sore" : each.passed_over ? " passed over, comes back later" : " away",
      small("now", `${each.name} comes back`, () => ask("comes_back", each.athlete)))) : [desk.element("li", { class: "quiet" }, "nobody")]);
    const here = view.people.filter((each) => each.here);
    at("here-count").textContent = `${here.length} of ${view.people.length}`;
    keep_focus(at("here"), here.map((each) => person_row(each.name, ` ${each.drill}${each.sets ? `, ${each.sets_done} of ${each.sets} sets` : ""}`,
      small("leaves", `${each.name} leaves`, async () => said((await desk.post("/leaves", { athlete: each.athlete })).words ?? "")))));
    show_plan(view);
    show_felt(view);
    show_signs(view.signs);
    desk.partner_next?.(view, said);
  };
  // The coach's alone; it changes as the reading does, and stands after the set.
  const show_signs = (signs) => {
    at("signs").hidden = !signs;
    if (!signs) return;
    const row = (asked, word, reason) => desk.element("p", { class: `sign ${word === "yes" ? "yes" : word === "maybe" ? "maybe" : ""}` },
      desk.element("span", { class: "quiet" }, `${asked}: `), desk.element("b", {}, word), desk.element("small", {}, reason));
    const caught = signs.windows ? `${signs.caught} of ${signs.windows} caught, luck ${signs.luck}` : "";
    const rows = [row(`${signs.name} can be timed`, signs.timed, [signs.timed_reason, caught].filter(Boolean).join("; "))];
    if (signs.read !== null) rows.push(row("can be read", signs.read, signs.read_reason));
    if (signs.leads) rows.push(row("who leads", signs.leads, signs.leads_reason));
    at("signs").replaceChildren(...rows);
  };
  // Asked once a set, of the one who stood opposite; the one who commands types the answer.
  const felt = { asked: "", answered: new Set() };
  const show_felt = (view) => {
    const set = view.summary?.partner ? `${view.summary.session} ${view.summary.set}` : "";
    const ask_it = desk.commands && set && view.rig !== "running" && !felt.answered.has(set);
    if (ask_it && set !== felt.asked) at("felt-title").textContent = `${view.summary.partner}: could you time ${view.summary.name}?`;
    felt.asked = set;
    at("felt").hidden = !ask_it;
  };
  for (const button of document.querySelectorAll("button[data-felt]"))
    button.addEventListener("click", async () => {
      const [session, set] = felt.asked.split(" ");
      felt.answered.add(felt.asked);
      at("felt").hidden = true;
      if (button.dataset.felt) said((await desk.post("/felt", { session, set: Number(set), felt: button.dataset.felt })).words ?? "");
    });
  const show_plan = (view) => {
    const now = view.blocks.findIndex((each) => each.done > 0 && each.done < 1);
    at("blocks").replaceChildren(...view.blocks.map((each, index) => {
      const row = desk.element("li", {}, desk.element("span", {}, each.title), desk.element("small", {}, minutes(each.length_s)));
      row.classList.toggle("rounds", each.rounds);
      row.classList.toggle("past", each.done >= 1);
      if (index === now) { row.classList.add("now"); row.setAttribute("aria-current", "step"); }
      return row;
    }));
    // How long the others wait says whether all of them come to their turn.
    const owed = view.people.filter((each) => each.here && !each.sore).reduce((sum, each) => sum + Math.max(0, each.sets - each.sets_done), 0);
    const longest = view.follows.reduce((most, each) => Math.max(most, each.wait_minutes), 0);
    const over = longest - Math.floor(view.block_left_s / 60);
    at("fit").textContent = !view.rounds || !owed ? "" : over > 0 ? `${owed} sets to go: the last is called ${over} min after this block ends`
      : `${owed} sets to go`;
    if (over > 0 && now >= 0) at("blocks").children[now].classList.add("over");
  };

  // ---- questions ----
  const picked = (title, choices) => new Promise((done) => {
    const dialog = at("pick");
    at("pick-title").textContent = title;
    at("pick-list").replaceChildren(...choices.map(([value, words]) => desk.element("button", { value, class: "thumb" }, words)));
    dialog.returnValue = "";
    dialog.addEventListener("close", () => done(dialog.returnValue), { once: true });
    dialog.showModal();
  });
  const sure = (title) => new Promise((done) => {
    const dialog = at("sure");
    at("sure-title").textContent = title;
    dialog.returnValue = "";
    dialog.addEventListener("close", () => done(dialog.returnValue === "yes"), { once: true });
    dialog.showModal();
  });
  const typed = (title) => new Promise((done) => {
    const dialog = at("type"), text = at("type-text");
    at("type-title").textContent = title;
    text.value = "";
    at("type-form").onsubmit = (event) => { event.preventDefault(); dialog.close(text.value.trim()); };
    at("type-no").onclick = () => dialog.close("");
    dialog.returnValue = "";
    dialog.addEventListener("close", () => done(dialog.returnValue), { once: true });
    dialog.showModal();
  });
  const other_drill = async (person) => {
    const drill = await picked(`Another drill for ${person.name}`, [...document.querySelectorAll("#drills option")].map((each) => [each.value, each.textContent || each.value]));
    if (drill) ask("drill", person.athlete, drill);
  };

  for (const button of document.querySelectorAll("button[data-ask]")) {
    button.addEventListener("click", async () => {
      const what = button.dataset.ask;
      const blocks = state.view?.blocks ?? [];
      const last_block = what === "next" && blocks.length > 0 && blocks.slice(0, -1).every((each) => each.done > 0);
      if (button.dataset.sure && !await sure(last_block ? "This is the last block. End the evening?" : button.dataset.sure)) return;
      if (button.dataset.type) { const text = await typed(button.dataset.type); if (text) ask(what, "", text); return; }
      if (button.dataset.pick) {
        const people = (state.view?.people ?? []).filter((each) => each.here).map((each) => [each.athlete, each.name]);
        const athlete = await picked(button.dataset.pick, people);
        if (athlete) ask(what, athlete);
        return;
      }
      ask(what);
    });
  }
  at("comes").addEventListener("submit", async (event) => {
    event.preventDefault();
    const name = at("comes-name").value.trim();
    let answer = await desk.post("/comes", { name, sure: false });
    if (/A new athlete\?/.test(answer.words ?? "") && await sure(answer.words)) answer = await desk.post("/comes", { name, sure: true });
    said(answer.words ?? "");
    at("comes-name").value = "";
  });
  desk.live(state, take);
})();

// What the program asks before an evening or in a calibration, as buttons; typed at the terminal or here, one answer
// counts. The page asks every half second: nothing here is quicker than people are.
"use strict";

(() => {
  const at = (id) => document.getElementById(id);
  if (!at("questions")) return;
  const before = !at("calibrate");  // the page of an evening that has not begun
  let shown = -1;
  window.deskQuestion = null;

  const answer = async (line) => {
    const told = await desk.post("/line", { number: window.deskQuestion.number, line });
    at("question-said").textContent = told.words === "taken" ? "" : told.words ?? "";
    look();
  };
  const picked = (title, picks) => new Promise((done) => {
    const dialog = at("pick");
    at("pick-title").textContent = title;
    at("pick-list").replaceChildren(...picks.map((each) => desk.element("button", { value: each.line, class: "thumb" }, each.words)));
    dialog.returnValue = "";
    dialog.addEventListener("close", () => done(dialog.returnValue), { once: true });
    dialog.showModal();
  });
  const button = (question, choice) => {
    const made = desk.element("button", { type: "button", class: choice.ticks ? "tick" : null, "data-line": choice.line, role: choice.ticks ? "checkbox" : null, "aria-checked": choice.ticks ? String(choice.on) : null },
      desk.element("span", { class: "grow" }, choice.ticks ? `${choice.on ? "here" : "away"}: ${choice.words}` : choice.words, desk.element("small", {}, choice.under ? ` ${choice.under}` : "")));
    made.disabled = !desk.commands;
    made.addEventListener("click", async () => {
      if (!choice.picks) return answer(choice.line);
      const pick = await picked(choice.words, question.picks[choice.picks] ?? []);
      if (pick) answer(choice.line + pick);
    });
    return made;
  };
  const show = (question) => {
    const on = document.activeElement?.dataset?.line;
    at("questions").hidden = false;
    at("question").textContent = question.title;
    at("question-lines").textContent = question.lines.join("\n").trim();
    at("question-ticks").replaceChildren(...question.choices.filter((each) => each.ticks).map((each) => desk.element("li", {}, button(question, each))));
    at("question-choices").replaceChildren(...question.choices.filter((each) => !each.ticks).map((each) => button(question, each)));
    at("question-form").hidden = !(question.open && question.typed && desk.commands);
    at("question-go").hidden = !(question.open && question.go && desk.commands);
    at("question-go").textContent = question.go;
    if (on !== undefined) [...document.querySelectorAll("[data-line]")].find((each) => each.dataset.line === on)?.focus();
  };
  const look = async () => {
    let question = null;
    try {
      const response = await fetch("/questions", { credentials: "same-origin", cache: "no-store" });
      if (response.status === 401) location.assign("/pair");
      if (response.ok) question = await response.json();
    } catch { at("question-said").textContent = "the desk does not answer: is this phone in the hall's network?"; }
    if (!question) return;
    if (before && question.evening) return location.assign("/");
    window.deskQuestion = question;
    const key = `${question.number} ${question.open}`;
    if (key === shown || document.querySelector("dialog[open]")) return;
    shown = key;
    at("questions").hidden = !question.title;
    if (question.title) show(question);
  };
  at("question-form").addEventListener("submit", (event) => {
    event.preventDefault();
    const line = at("question-line").value.trim();
    at("question-line").value = "";
    if (line) answer(line);
  });
  at("question-go").addEventListener("click", () => answer(""));
  setInterval(look, 500);
  look();
})();

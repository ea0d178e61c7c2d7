// A past session: its reps' shapes, and each played again.
"use strict";

for (const each of document.querySelectorAll(".past li")) each.querySelector(".number").after(desk.shape(each.dataset.verdict));
for (const each of document.querySelectorAll("button[data-rep]"))
  each.addEventListener("click", () => desk.replay({ session: each.dataset.session, rep: each.dataset.rep, number: each.dataset.number }));

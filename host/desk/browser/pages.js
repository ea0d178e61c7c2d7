// The pages that ask little: a drill's text, the paired phones.
"use strict";

(() => {
  const at = (id) => document.getElementById(id);
  at("drill")?.addEventListener("submit", async (event) => {
    event.preventDefault();
    at("drill-said").textContent = (await desk.post("/check", { text: at("drill-text").value })).words ?? "";
  });
  at("drill-save")?.addEventListener("click", () => desk.save(`${at("drill").dataset.name}.toml`, at("drill-text").value));
  const told = async (path) => {
    const answer = await desk.post(path, {});
    at("phones-said").textContent = answer.words ?? "";
    if (answer.status === 200) location.reload();
  };
  at("more-digits")?.addEventListener("click", () => told("/digits"));
  at("take-command")?.addEventListener("click", () => told("/command"));
  at("forget")?.addEventListener("click", () => told("/forget"));
})();

"use strict";
(() => {
  const main = document.querySelector("main[data-list]");
  if (!main) return;
  const { job, proof, list } = main.dataset, who = document.getElementById("who");
  const told = document.getElementById("told");
  const boxes = [...main.querySelectorAll("input[data-key]")];
  const wait = (ms) => new Promise((done) => setTimeout(done, ms));
  const under = new Set();
  const show = (box, by) => {
    box.checked = by !== "";
    const item = box.closest("li");
    item.classList.toggle("done", by !== "");
    item.querySelector(".who").textContent = by;
  };
  const count = () => {
    told.textContent = boxes.filter((box) => !box.checked).length + " of " + boxes.length + " to do";
  };
  const say = async (box) => {
    const done = box.checked ? 1 : 0, key = box.dataset.key;
    const body = JSON.stringify({ job, proof: Number(proof), list, key, done, by: who.value.trim() });
    under.add(key);
    for (let tries = 0; ; tries += 1) {
      try {
        const answer = await fetch("/tick", { method: "POST", headers: { "content-type": "application/json" }, body });
        const held = await answer.json();
        show(box, answer.ok ? held.by : done ? "" : box.closest("li").querySelector(".who").textContent || "?");
        if (answer.ok) count(); else told.textContent = held.trouble;
        break;
      } catch {
        told.textContent = "Not recorded yet: the desk does not answer. It is said again until it does.";
        await wait(Math.min(4000, 250 * 2 ** tries));
      }
    }
    under.delete(key);
  };
  for (const box of boxes) {
    box.addEventListener("change", () => {
      if (who.value.trim()) { say(box); return; }
      box.checked = !box.checked;
      told.textContent = "Put in your initials first.";
      who.focus();
    });
  }
  const again = async () => {
    try {
      const state = await (await fetch("/ticks?" + new URLSearchParams({ job, proof, list }))).json();
      if (boxes.some((box) => !(box.dataset.key in state.rows)) || Object.keys(state.rows).length !== boxes.length) {
        if (!under.size) location.reload();
        return;
      }
      for (const box of boxes) if (!under.has(box.dataset.key)) show(box, state.rows[box.dataset.key]);
      if (!under.size) count();
    } catch { /* it is asked for again when the desk is heard */ }
  };
  window.addEventListener("desk-entry", (event) => { if (event.detail.job === job) again(); });
  window.addEventListener("desk-open", again);
})();

"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const cards = Array.from(document.querySelectorAll(".card"));
  const filter = byId("filter"), told = byId("told"), none = byId("none");
  const help = byId("help"), keys = byId("keys");
  const shown = () => cards.filter((card) => !card.hidden);
  const spotOf = (id) => byId(id + "-place");

  // Each strip opens with its fault in the middle, however narrow the screen.
  const centre = (strip) => {
    const drawing = strip.querySelector("svg");
    strip.scrollLeft = drawing.dataset.place * drawing.clientWidth - strip.clientWidth / 2;
  };
  document.querySelectorAll(".strip").forEach(centre);
  addEventListener("resize", () => document.querySelectorAll(".strip").forEach(centre));

  const count = (number) => number + (number === 1 ? " entry" : " entries") + " shown";
  const sift = () => {
    const chosen = new FormData(filter);
    const standings = chosen.getAll("status"), kind = chosen.get("kind");
    for (const card of cards) {
      card.hidden = !standings.includes(card.dataset.status) || (kind !== "" && card.dataset.kind !== kind);
      const spot = spotOf(card.id);
      if (spot) spot.style.display = card.hidden ? "none" : "";
    }
    none.hidden = shown().length > 0;
    told.textContent = count(shown().length);
  };

  const here = () => {
    const at = document.activeElement ? document.activeElement.closest(".card, .spot") : null;
    return at ? byId(at.id.replace("-place", "")) : null;
  };
  const goTo = (card) => {
    card.focus({ preventScroll: true });
    card.scrollIntoView({ block: "center" });
    const spot = spotOf(card.id);
    document.querySelectorAll(".spot.now").forEach((other) => other.classList.remove("now"));
    if (spot) spot.classList.add("now");
    told.textContent = card.querySelector(".number").textContent + ": " + (shown().indexOf(card) + 1) + " of " + shown().length;
  };
  const step = (by) => {
    const list = shown(), at = list.indexOf(here());
    if (list.length === 0) return;
    const next = at < 0 ? (by > 0 ? 0 : list.length - 1) : Math.min(list.length - 1, Math.max(0, at + by));
    goTo(list[next]);
  };
  const toPlace = (card) => {
    const spot = spotOf(card.id);
    if (!spot) return false;
    location.hash = spot.id;
    spot.focus({ preventScroll: true });
    spot.scrollIntoView({ block: "center", inline: "center" });
    return true;
  };

  const openHelp = () => { if (!help.open) help.showModal(); };
  const acts = {
    j: () => step(1), ArrowDown: () => step(1),
    k: () => step(-1), ArrowUp: () => step(-1),
    "?": openHelp,
  };
  document.addEventListener("keydown", (event) => {
    const target = event.target;
    if (event.ctrlKey || event.metaKey || event.altKey || help.open) return;
    if (target.matches("input, select, textarea, button")) return;
    if (event.key === "Enter") {
      const spot = target.closest(".spot");
      if (spot) { event.preventDefault(); goTo(here()); }
      else if (target.matches(".card") && toPlace(target)) event.preventDefault();
      return;
    }
    if (!keys.checked || !Object.hasOwn(acts, event.key)) return;
    event.preventDefault();
    acts[event.key]();
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest(".go a, a.spot");
    const card = link && byId(link.getAttribute("href").slice(1).replace("-place", ""));
    if (!card) return;
    event.preventDefault();
    if (link.matches(".spot")) goTo(card); else toPlace(card);
  });
  if (filter) {
    filter.hidden = false;
    filter.addEventListener("change", sift);
    byId("help-open").addEventListener("click", openHelp);
    sift();
  }
})();

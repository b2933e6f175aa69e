"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const told = byId("told");
  const tell = (words) => { if (told) told.textContent = words; };
  const wait = (ms) => new Promise((done) => setTimeout(done, ms));

  // Initials are asked for once, and kept in this browser.
  const kept = () => { try { return localStorage.getItem("initials") || ""; } catch { return ""; } };
  for (const field of document.querySelectorAll(".by")) {
    if (!field.value) field.value = kept();
    field.addEventListener("change", () => {
      try { localStorage.setItem("initials", field.value.trim()); } catch { /* private window */ }
    });
  }

  // News of the docket and of readings, on every page.
  const hear = {};
  const news = new EventSource("/news");
  news.addEventListener("entry", (event) => {
    const entry = JSON.parse(event.data);
    if (hear.entry) hear.entry(entry);
    window.dispatchEvent(new CustomEvent("desk-entry", { detail: entry }));
  });
  news.addEventListener("reading", () => readings());
  // Not when the line is open: the desk says when nothing more can be missed.
  news.addEventListener("joined", () => {
    if (hear.again) hear.again();
    window.dispatchEvent(new Event("desk-open"));
    readings();
  });
  const shelf = byId("readings");
  let underWay = 0;
  const readings = async () => {
    if (!shelf) return;
    let all;
    try { all = await (await fetch("/readings")).json(); } catch { return; }
    const main = document.querySelector("main"), job = main && main.dataset.job;
    const mine = all.filter((one) => !job || one.job === job);
    shelf.replaceChildren(...mine.map((one) => {
      const item = document.createElement("li");
      item.textContent = one.words.includes("job " + one.job) ? one.words : "Job " + one.job + ": " + one.words;
      item.className = one.trouble ? "trouble" : one.done ? "done" : "";
      return item;
    }));
    shelf.hidden = mine.length === 0;
    const now = mine.filter((one) => !one.done).length;
    if (now < underWay && !mine.some((one) => one.trouble)) location.reload();
    underWay = now;
  };
  // Files can be dropped anywhere on a form that takes them.
  const isCopy = (file) => /\.(txt|text|md|markdown|docx|odt)$/i.test(file.name);
  for (const form of document.querySelectorAll("form.put")) {
    const field = form.querySelector("input[type=file][name=scan]"), copy = form.querySelector("input[type=file][name=copy]");
    if (!field) continue;
    form.addEventListener("dragover", (event) => { event.preventDefault(); form.classList.add("over-drop"); });
    form.addEventListener("dragleave", () => form.classList.remove("over-drop"));
    form.addEventListener("drop", (event) => {
      event.preventDefault();
      form.classList.remove("over-drop");
      const target = event.target.closest("input[type=file]"), dropped = [...event.dataTransfer.files];
      if (target || !copy) { (target || field).files = event.dataTransfer.files; return; }
      // Dropped on the form together: what can be a copy is the copy, all else the scan.
      for (const [into, files] of [[copy, dropped.filter(isCopy)], [field, dropped.filter((one) => !isCopy(one))]]) {
        if (!files.length) continue;
        const held = new DataTransfer();
        for (const one of files) held.items.add(one);
        into.files = held.files;
      }
    });
  }
  if (!byId("state")) return;

  // ------------------------------------------------------------ a proof laid open
  const start = JSON.parse(byId("state").textContent);
  const job = start.job, proof = start.proof;
  const query = "job=" + encodeURIComponent(job) + "&proof=" + proof;
  const rows = new Map();
  let order = [], now = null, busy = false;
  const undone = [];
  const cards = new Map();
  const list = byId("rows"), card = byId("card"), verdict = byId("verdict"), choices = byId("choices");
  const who = byId("who"), keys = byId("keys");
  const beside = matchMedia("(min-width: 62rem)");
  const SVG = "http://www.w3.org/2000/svg";
  // As people see it: 2/4 is the fourth of the second proof, 2/R1 what a revise itself showed.
  const number = (id) => proof + "/" + id.replace(/^F(?=[0-9]+$)/, "");
  const sentence = (words) => /[.?!]$/.test(words) ? words : words + ".";
  const said = (row) => row.sides.length ? "in two ways" : row.decision === "" ? "" : row.decision === "correct" && row.charge === "AA" ? "author’s alteration"
    : { correct: "correct", stand: "stands", query: "asked", sound: "no fault" }[row.decision];

  // Marks of one line in one margin stand side by side: what those farther out take.
  const inMargin = new Map();
  const outer = (row, place, size) => {
    if (!inMargin.has(place)) inMargin.set(place, []);
    const held = inMargin.get(place);
    if (!held.includes(row.id)) held.push(row.id);
    return held.slice(0, held.indexOf(row.id)).reduce((sum, id) => sum + (0.5 * rows.get(id).margin.length + 0.6) * size, 0);
  };
  const mark = (row) => {
    document.querySelectorAll('.marks g[data-id="' + row.id + '"]').forEach((old) => old.remove());
    if (!row.at) return;
    const svg = document.querySelector('svg[data-sheet="' + row.at.sheet + '"]');
    if (!svg) return;
    const group = document.createElementNS(SVG, "g");
    group.dataset.id = row.id;
    group.setAttribute("class", row.status + (now === row.id ? " now" : ""));
    const put = (name, more) => {
      const made = document.createElementNS(SVG, name);
      for (const [key, value] of Object.entries(more)) made.setAttribute(key, value);
      group.append(made);
      return made;
    };
    const [x, y, w, h] = row.at.box, air = 6, least = 30;
    const ax = Math.max(air, (least - w) / 2), ay = Math.max(air, (least - h) / 2);
    put("path", { d: row.at.strokes, "stroke-width": row.at.pen });
    if (row.margin && row.at.size) {
      const shown = svg.viewBox.baseVal, left = x + w / 2 < shown.x + shown.width / 2, size = row.at.size * 1.5;
      const off = 8 + outer(row, [row.at.sheet, row.at.margin_y, left].join(), size);
      put("text", { x: left ? shown.x + off : shown.x + shown.width - off, y: row.at.margin_y, "font-size": size, "text-anchor": left ? "start" : "end" }).textContent = row.margin;
    }
    put("rect", { x: x - ax, y: y - ay, width: w + 2 * ax, height: h + 2 * ay, rx: 4 });
    svg.querySelector(".marks").append(group);
  };
  const line = (row) => {
    let item = list.querySelector('li[data-id="' + row.id + '"]');
    if (!item) {
      item = document.createElement("li");
      item.dataset.id = row.id;
      const button = document.createElement("button");
      button.type = "button";
      for (const part of ["num", "place", "what", "done"]) {
        const span = document.createElement("span");
        span.className = part;
        button.append(span);
      }
      button.addEventListener("click", () => take(row.id));
      item.append(button);
      list.append(item);
    }
    item.className = row.status + (row.sides.length ? " dispute" : "");
    const [num, place, what, done] = item.firstChild.children;
    num.textContent = number(row.id);
    place.textContent = "line " + row.line;
    what.textContent = row.words;
    done.textContent = said(row);
  };
  const count = () => {
    const all = [...rows.values()], open = all.filter((row) => row.decision === "").length, parted = all.filter((row) => row.sides.length).length;
    byId("count").textContent = all.length + " in all; " + (open ? open + " to decide" : "all decided") + (parted ? "; " + parted + " to settle" : "");
    byId("onward").hidden = !all.length || open > 0 || parted > 0;
  };
  const show = (row) => { rows.set(row.id, row); line(row); mark(row); if (row.id === now) stand(); };
  const stand = () => {
    const row = rows.get(now);
    if (!row) return;
    verdict.hidden = row.decision === "";
    verdict.textContent = row.decision === "" ? "" : row.said + (row.note ? ": " + row.note : "");
    card.className = "card " + row.status;
    const pressed = row.sides.length ? "" : row.decision === "correct" && row.charge === "AA" ? "altered" : row.decision;
    for (const button of choices.querySelectorAll("button")) {
      const act = button.dataset.act;
      if (act === "answer") button.hidden = row.decision !== "query";
      else if (act === "note") button.hidden = row.decision === "";
      else if (act === "undo") button.hidden = !undone.length;
      else button.setAttribute("aria-pressed", String(act === pressed));
    }
  };
  const fetched = (id) => {
    if (!cards.has(id)) {
      const asked = fetch("/card?" + query + "&fault=" + id).then((answer) => {
        if (!answer.ok) throw new Error();
        return answer.text();
      });
      asked.catch(() => cards.delete(id));
      cards.set(id, asked);
    }
    return cards.get(id);
  };
  const centre = (strip) => {
    const drawing = strip.querySelector("svg");
    strip.scrollLeft = drawing.dataset.place * drawing.clientWidth - strip.clientWidth / 2;
  };
  const take = async (id, { scroll = true } = {}) => {
    now = id;
    for (const button of list.querySelectorAll("button")) button.removeAttribute("aria-current");
    const item = list.querySelector('li[data-id="' + id + '"] button');
    if (item) {
      item.setAttribute("aria-current", "true");
      const box = list.getBoundingClientRect(), at = item.getBoundingClientRect();
      if (at.top < box.top || at.bottom > box.bottom) list.scrollTop += at.top - box.top - box.height / 2;
    }
    document.querySelectorAll(".marks .now").forEach((other) => other.classList.remove("now"));
    document.querySelectorAll('.marks g[data-id="' + id + '"]').forEach((spot) => {
      spot.classList.add("now");
      // Beside the list it is brought into view; under it, the page is left where it is.
      if (scroll && beside.matches) spot.scrollIntoView({ block: "nearest", inline: "nearest" });
    });
    choices.hidden = false;
    stand();
    const row = rows.get(id);
    tell("Number " + number(id) + ", line " + row.line + ": " + sentence(row.words) + (row.decision && !row.sides.length ? " Decided: " + sentence(row.said) : ""));
    try {
      const text = await fetched(id);
      if (now !== id) return;
      card.innerHTML = text;
      card.querySelectorAll(".strip").forEach(centre);
    } catch {
      card.textContent = "The strip could not be fetched; the desk may be closed.";
    }
    const next = order[order.indexOf(id) + 1];
    if (next) fetched(next).catch(() => {});
  };
  const step = (by) => {
    if (!order.length) return;
    const at = order.indexOf(now);
    take(order[Math.min(order.length - 1, Math.max(0, at + by))]);
  };
  const nextOpen = () => {
    const at = order.indexOf(now);
    const rest = [...order.slice(at + 1), ...order.slice(0, at + 1)];
    const open = rest.find((id) => rows.get(id).decision === "") || rest.find((id) => id !== now && rows.get(id).sides.length);
    if (open) take(open); else { const left = order[Math.min(order.length - 1, at + 1)]; take(left); tell(rows.get(left).sides.length ? "This one is left to be settled." : "All are decided."); }
  };
  // As of which entry of the docket each row is shown: what is older is not shown over it.
  const asOf = new Map();
  const latest = (row, entry) => {
    if (entry < (asOf.get(row.id) || 0)) return;
    asOf.set(row.id, entry);
    const before = rows.get(row.id);
    if (before && JSON.stringify(before) === JSON.stringify(row)) return;
    if (before) cards.delete(row.id);
    show(row);
    if (before) count();
  };
  const settle = (state) => {
    order = state.rows.map((row) => row.id);
    for (const row of state.rows) latest(row, state.entry);
    count();
    if (now === null && order.length) take(order.find((id) => rows.get(id).decision === "") || order[0]);
  };

  // What is said is said until the desk has it on disk; said twice, it is recorded once.
  const say = async (where, what) => {
    const body = JSON.stringify({ ...what, job, proof, by: who.value.trim(), said: crypto.randomUUID() });
    for (let tries = 0; ; tries += 1) {
      let answer;
      try {
        answer = await fetch(where, { method: "POST", headers: { "content-type": "application/json" }, body });
      } catch {
        tell("Not recorded yet: the desk does not answer. It is said again until it does.");
        await wait(Math.min(4000, 250 * 2 ** tries));
        continue;
      }
      const held = await answer.json().catch(() => ({ trouble: "the desk gave no answer that can be read" }));
      if (!answer.ok) throw new Error(held.trouble || "it was not recorded");
      return held;
    }
  };
  const initials = () => {
    if (who.value.trim()) return true;
    tell("Put in your initials first.");
    who.focus();
    return false;
  };
  const called = { correct: "correct", stand: "let it stand", query: "ask the customer", sound: "no fault" };
  // What settles a thing decided in two ways, or comes after the O.K., says why.
  const reasoned = async (row, what, note) => {
    const me = who.value.trim();
    const settles = row.sides.length > 0 && what !== "undecided" && row.sides.some((side) => side.by !== me && side.what !== what);
    const why = [];
    if (settles) why.push("Decided in two ways: " + row.sides.map((side) => side.by + ", " + called[side.what]).join("; ") + ". What you record now settles it.");
    if (row.wanting && !note) why.push(row.wanting + ".");
    if (why.length) note = await withNote("The reason, for number " + number(row.id), note, why.join(" "));
    return note === null ? null : settles ? { note, settles: 1, saw: row.seen } : { note };
  };
  const decide = async (what, { charge = "", note = "", stay = false, undoing = null } = {}) => {
    if (busy || now === null || !initials()) return;
    const id = now, before = rows.get(id), more = await reasoned(before, what, note);
    if (more === null) { if (undoing) undone.push(undoing); return; }
    busy = true;
    // Shown only where the answer keeps one waiting.
    const slow = setTimeout(() => choices.classList.add("waits"), 250);
    try {
      const held = await say("/decide", { fault: id, what, charge, ...more });
      // What settled is not taken back by a key: it is decided anew.
      if (!undoing && !more.settles) undone.push({ id, decision: before.decision || "undecided", charge: before.decision ? before.charge : "", note: before.note });
      latest(held.row, held.entry);
      tell("Number " + number(id) + ": " + held.row.said + ". " + held.left + " left to decide.");
      busy = false;
      if (!stay && now === id && !held.row.sides.length) nextOpen(); else if (now === id) take(id);
    } catch (error) {
      tell(error.message);
    } finally {
      busy = false;
      clearTimeout(slow);
      choices.classList.remove("waits");
      heard.splice(0).forEach(changed);
    }
  };
  const asking = byId("note"), words = byId("note-words");
  // A closed dialog says so a moment later: by then the next question may be open in it.
  let answered = () => {};
  asking.addEventListener("close", () => { if (!asking.open) answered(); });
  const withNote = (head, text, why = "") => new Promise((done) => {
    answered();
    answered = () => {
      answered = () => {};
      done(asking.returnValue === "yes" ? words.value.trim() : null);
    };
    byId("note-head").textContent = head;
    byId("note-why").textContent = why;
    byId("note-why").hidden = !why;
    words.required = why !== "";
    words.value = text;
    asking.returnValue = "no";
    asking.showModal();
    words.focus();
  });
  words.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.shiftKey) return;
    event.preventDefault();
    if (words.reportValidity()) asking.close("yes");
  });
  const ask = async () => {
    if (now === null || !initials()) return;
    const row = rows.get(now), note = await withNote("What is the customer asked?", row.decision === "query" ? row.note : row.words.replace(/^query: /, ""));
    if (note !== null) decide("query", { note });
  };
  const write = async () => {
    const row = rows.get(now);
    if (!row || row.decision === "" || !initials()) { tell("Decide first; a note goes with a decision."); return; }
    const note = await withNote("A note to number " + number(now), row.note);
    if (note !== null) decide(row.decision, { charge: row.decision === "correct" ? row.charge : "", note, stay: true });
  };
  const undo = async () => {
    const last = undone.pop();
    if (!last) { tell("Nothing to take back."); return; }
    await take(last.id);
    await decide(last.decision, { charge: last.charge, note: last.note, stay: true, undoing: last });
  };

  const answering = byId("answering");
  const answer = () => {
    const row = rows.get(now);
    if (!row || row.decision !== "query" || !initials()) { tell("The customer was not asked about this one."); return; }
    byId("answering-asked").textContent = row.note || row.words;
    byId("answering-words").value = byId("answering-trouble").textContent = "";
    answering.returnValue = "no";
    answering.showModal();
    byId("answering-words").focus();
  };
  answering.querySelector("form").addEventListener("submit", async (event) => {
    if (event.submitter && event.submitter.value !== "yes") return;
    event.preventDefault();
    const id = now;
    try {
      const held = await say("/answer", {
        fault: id, what: byId("answering-what").value, words: byId("answering-words").value.trim(),
        answered_by: byId("answering-by").value.trim(),
      });
      answering.close("yes");
      latest(held.row, held.entry);
      nextOpen();
    } catch (error) {
      byId("answering-trouble").textContent = error.message;
    }
  });

  // ------------------------------------------------------------ the reader's own marks
  let letters = null;
  const fetchLetters = async () => {
    if (!letters) letters = await (await fetch("/letters?" + query)).json();
    return letters;
  };
  const marking = byId("marking"), lineField = byId("marking-line"), text = byId("marking-text");
  const kind = byId("marking-kind"), wanted = byId("marking-wanted"), says = byId("marking-says");
  const trouble = byId("marking-trouble");
  const fill = async () => {
    const held = await fetchLetters(), found = held.lines.find((one) => one.number === Number(lineField.value));
    text.value = found ? found.text : "";
    trouble.textContent = found || !lineField.value ? "" : "No line of that number was read.";
  };
  let box = null;
  const openMark = async (number, from, to, drawn = null) => {
    if (!initials()) return;
    box = drawn;
    byId("marking-letters").hidden = box !== null;
    byId("marking-which").textContent = box ? "Line next to it" : "Line";
    lineField.value = number;
    wanted.value = byId("marking-note").value = "";
    kind.value = box ? "broken-rule" : "";
    says.hidden = box !== null;
    await fill();
    marking.returnValue = "no";
    marking.showModal();
    if (box) { kind.focus(); return; }
    text.focus();
    text.setSelectionRange(from, to);
  };
  lineField.addEventListener("change", fill);
  kind.addEventListener("change", () => { says.hidden = kind.value !== ""; });
  marking.querySelector("form").addEventListener("submit", async (event) => {
    if (event.submitter && event.submitter.value !== "yes") return;
    event.preventDefault();
    try {
      const held = await say("/mark", {
        line: Number(lineField.value), start: text.selectionStart, end: text.selectionEnd,
        wanted: kind.value ? "" : wanted.value, kind: kind.value, note: byId("marking-note").value.trim(), ...box,
      });
      marking.close("yes");
      if (!order.includes(held.row.id)) order.push(held.row.id);
      latest(held.row, held.entry);
      await again();
      take(held.row.id);
    } catch (error) {
      trouble.textContent = error.message;
    }
  });
  const pointOf = (svg, event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  const placeOf = (svg, event) => {
    const at = pointOf(svg, event);
    const sheet = Number(svg.dataset.sheet);
    const near = letters.lines.filter((one) => one.sheet === sheet && at.x > one.box[0] - 30 && at.x < one.box[0] + one.box[2] + 30);
    let best = null, least = Infinity;
    for (const one of near) {
      const off = Math.abs(at.y - one.box[1] - one.box[3] / 2) - one.box[3] / 2;
      if (off < least) { least = off; best = one; }
    }
    return best && least < 25 ? { line: best, x: at.x } : null;
  };
  const gapAt = (line, x) => line.x.filter((left, k) => (left + line.right[k]) / 2 < x).length;
  // A finger drags the page along, unless it is told to mark; and does again after each mark.
  const finger = byId("finger"), sheets = document.querySelector(".proof");
  const fingered = (on) => {
    finger.setAttribute("aria-pressed", String(on));
    sheets.classList.toggle("fingered", on);
  };
  finger.addEventListener("click", async () => {
    const on = !sheets.classList.contains("fingered");
    fingered(on);
    if (!on) { tell("A finger moves the page again."); return; }
    await fetchLetters();
    tell("Drag over the letters, or a box over a rule or border.");
  });
  for (const svg of document.querySelectorAll("svg[data-sheet]")) {
    let from = null, corner = null, drawn = null;
    const drop = () => { if (drawn) drawn.remove(); corner = drawn = null; };
    svg.addEventListener("pointerdown", async (event) => {
      const told = sheets.classList.contains("fingered");
      const spot = told ? null : event.target.closest("g[data-id]");
      from = null;
      drop();
      if (spot) { take(spot.dataset.id, { scroll: false }); return; }
      if (event.pointerType === "mouse" || told) svg.setPointerCapture(event.pointerId);
      await fetchLetters();
      from = placeOf(svg, event);
      // Beside the lines a box is drawn: over a rule, or a piece of a border.
      const at = pointOf(svg, event);
      if (!from || at.y < from.line.box[1] || at.y > from.line.box[1] + from.line.box[3]) corner = at;
    });
    const stretch = (event) => {
      const to = pointOf(svg, event), size = letters.sheets.find((one) => one.number === Number(svg.dataset.sheet));
      const held = (value, most) => Math.round(Math.min(Math.max(value, 0), most));
      const xs = [corner.x, to.x].map((x) => held(x, size.width)).sort((a, b) => a - b), ys = [corner.y, to.y].map((y) => held(y, size.height)).sort((a, b) => a - b);
      return { left: xs[0], top: ys[0], width: xs[1] - xs[0], height: ys[1] - ys[0] };
    };
    svg.addEventListener("pointermove", (event) => {
      if (!corner || !letters) return;
      if (!drawn) { drawn = document.createElementNS(SVG, "rect"); drawn.setAttribute("class", "stretch"); svg.querySelector(".marks").append(drawn); }
      const at = stretch(event);
      for (const [name, value] of Object.entries({ x: at.left, y: at.top, width: at.width, height: at.height })) drawn.setAttribute(name, value);
    });
    svg.addEventListener("pointercancel", drop);
    svg.addEventListener("pointerup", (event) => {
      if (letters) fingered(false);
      if (corner && letters) {
        const at = stretch(event), sheet = Number(svg.dataset.sheet), own = from && from.line.box;
        drop();
        // What is drawn from beside a line into it, or is no box at all, means the line.
        const ofLine = own && (at.width < 8 || at.height < 4 || Math.min(at.top + at.height, own[1] + own[3]) - Math.max(at.top, own[1]) > 3);
        if (!ofLine) {
          from = null;
          const off = (one) => Math.abs(one.box[1] + one.box[3] / 2 - at.top - at.height / 2) + Math.max(one.box[0] - at.left - at.width, at.left - one.box[0] - one.box[2], 0);
          const next = letters.lines.filter((one) => one.sheet === sheet).sort((a, b) => off(a) - off(b))[0];
          if (next && at.width > 3 && at.height > 3) openMark(next.number, 0, 0, at);
          else tell("No line was read there. Drag a box over a rule or a border to mark it.");
          return;
        }
      }
      if (!from || !letters) return;
      const to = placeOf(svg, event);
      if (!to || to.line !== from.line) return;
      const ends = [gapAt(from.line, from.x), gapAt(to.line, to.x)].sort((a, b) => a - b);
      openMark(from.line.number, ends[0], ends[1]);
      from = null;
    });
  }

  // ------------------------------------------------------------ keys, buttons, news
  const help = byId("help");
  // Switched off they stay off, on the next page too (WCAG 2.1.4).
  try { keys.checked = localStorage.getItem("keys") !== "off"; } catch { /* private window */ }
  keys.addEventListener("change", () => {
    try { localStorage.setItem("keys", keys.checked ? "on" : "off"); } catch { /* for this page alone */ }
  });
  const acts = {
    correct: () => decide("correct"), stand: () => decide("stand"), sound: () => decide("sound"),
    altered: () => decide("correct", { charge: "AA" }), query: ask, undo, answer, note: write, help: () => help.showModal(),
    mark: () => { const row = rows.get(now); openMark(row ? row.line : 1, 0, 0); },
  };
  const byKey = {
    c: acts.correct, s: acts.stand, a: acts.altered, q: ask, x: acts.sound, u: undo, r: answer, w: write, m: acts.mark, "?": acts.help,
    j: () => step(1), ArrowDown: () => step(1), k: () => step(-1), ArrowUp: () => step(-1), n: nextOpen,
  };
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || document.querySelector("dialog[open]")) return;
    if (event.target.matches("input, select, textarea") || !keys.checked || !Object.hasOwn(byKey, event.key)) return;
    event.preventDefault();
    byKey[event.key]();
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-act]");
    if (button) acts[button.dataset.act]();
  });
  // What others decided is asked for until the desk has answered.
  const got = async (where) => {
    for (let tries = 0; ; tries += 1) {
      try {
        const answer = await fetch(where);
        if (answer.ok) return await answer.json();
      } catch { /* the desk is shut, or its line is cut */ }
      await wait(Math.min(4000, 250 * 2 ** tries));
    }
  };
  // The whole proof is asked for where more than one fault may have changed, and after a cut line.
  let asking_state = false, missed = false, whole = start.entry;
  const again = async () => {
    if (asking_state) { missed = true; return; }
    asking_state = true;
    do {
      missed = false;
      const state = await got("/state?" + query + "&seen=" + whole);
      whole = state.entry;
      if (state.rows) settle(state);
    } while (missed);
    asking_state = false;
  };
  // News that comes while a decision is under way may be of that very one: its answer comes first.
  const heard = [];
  const changed = async (entry) => {
    const known = order.find((id) => entry.fault === proof + "/" + id);
    if (known && (asOf.get(known) || 0) >= entry.number) return;
    const held = await got("/rows?" + query + "&fault=" + encodeURIComponent(entry.fault));
    if (held.rows.every((row) => rows.has(row.id))) for (const row of held.rows) latest(row, held.entry);
    else again();
  };
  hear.again = again;
  hear.entry = (entry) => {
    if (entry.job !== job || entry.kind === "ticked") return;
    if (entry.kind === "proof") tell("A new proof of this job has been read.");
    else if (entry.fault && busy) heard.push(entry);
    else if (entry.fault) changed(entry);
    else again();
  };
  settle(start);
})();

"use strict";

// A page that is served: it follows the draft as it is written, and writes in its recipe. What is heard comes first: the
// new song takes over from the old one, and the picture is drawn behind it.

player.ahead = 0.1; // what is written is to be heard soon

const held = new Map(); // drafts by their number: the one that is heard and the one that is kept
let state = null; // what the program told last
let wanted = 0; // the draft that is shown or about to be
let drawnAs = groupsOf(svg).map((g) => g.outerHTML);

function groupsOf(svg) { return [...svg.querySelectorAll(":scope > g")]; }

const openingOf = (svg) => [...svg.attributes].filter((a) => /^(viewBox|data-)/.test(a.name)).map((a) => a.value).join();

// redraw puts a draft into the page. Of the picture only what has changed is drawn.
function redraw(draft) {
  const before = {song, rows, notes: notesByPlace()};
  song = draft.song;
  const box = document.createElement("template");
  box.innerHTML = draft.picture;
  const fresh = box.content.querySelector("svg");
  const groups = groupsOf(fresh), now = groups.map((g) => g.outerHTML), old = groupsOf(svg);
  if (openingOf(fresh) !== openingOf(svg)) svg.replaceWith(fresh);
  else {
    const stays = new Map(); // what is drawn already; texts are set anew
    old.forEach((g, i) => { if (!g.querySelector("text")) stays.set(drawnAs[i], g); });
    const next = groups.map((g, i) => {
      const same = stays.get(now[i]);
      stays.delete(now[i]);
      return same ?? g;
    });
    for (const g of old) if (!next.includes(g)) g.remove();
    let at = groupsOf(svg)[0] ?? null;
    for (const g of next) {
      if (g === at) at = at.nextElementSibling;
      else svg.insertBefore(g, at);
    }
  }
  drawnAs = now;
  setPicture();
  findChanges();
  const sameGrid = JSON.stringify([before.rows, before.song.view.phrases, before.song.view.lines, before.song.parts.map((p) => p.name)]) ===
    JSON.stringify([rows, song.view.phrases, song.view.lines, song.parts.map((p) => p.name)]);
  if (sameGrid) relabel();
  else remakeGrid(before.rows);
  setWidth();
  if (JSON.stringify(before.song.sections) !== JSON.stringify(song.sections)) setSections();
  document.title = document.querySelector("h1").textContent = draft.title;
  setList("above", "p", draft.above);
  setList("below", "li", draft.below);
  for (const [control, of, p] of switches) control.setAttribute("aria-pressed", String(of.has(p)));
  for (const [p, g] of drawings) g.classList.toggle("unheard", !player.heard(p));
  setLoop();
  drawn = "";
  mark(0, 0, -1);
  draw();
  markNew(before.notes);
  tellSection();
  const at = document.activeElement?.place;
  if (at && at.column >= ahead && !player.playing) hint.textContent = describe(phrases[at.column - ahead], lastBar(at.column - ahead), at.row);
}

function setList(id, name, texts) {
  if ([...byId(id).children].map((e) => e.textContent).join("\n") === texts.join("\n")) return;
  byId(id).replaceChildren();
  for (const text of texts) add(byId(id), name).textContent = text;
}

// relabel says of each cell what stands there now.
function relabel() {
  field.forEach((places, row) => places.forEach((e, at) => {
    if (!e?.dataset.bar) return;
    const label = words(phrases[at - ahead], lastBar(at - ahead), row).join(", ");
    if (e.getAttribute("aria-label") !== label) e.setAttribute("aria-label", label);
  }));
}

// remakeGrid makes the grid anew; the focus stays with its row and bar.
function remakeGrid(rowsBefore) {
  const at = here && {...here.place, bar: here.dataset.bar, name: rowsBefore[here.place.row]?.name};
  const focused = here && document.activeElement === here;
  setGrid();
  if (!at) return;
  const row = Math.max(rows.findIndex((r) => r.name === at.name), 0);
  const column = at.bar ? ahead + columnAt(Math.min(Number(at.bar), bars)) : at.column;
  const e = field[row][column] ?? field[row].find(Boolean);
  settle(e);
  chosen = -1;
  if (focused) e.focus({preventScroll: true});
}

// notesByPlace is what each part plays, by section and bar in it, so that what only moved is the same.
function notesByPlace() {
  const out = new Map();

  song.parts.forEach((part, p) => {
    let tick = 0;
    for (let i = 0; i < part.notes.length; i += 4) {
      tick += part.notes[i];
      const bar = barAt(tick);
      const key = placeName(p, bar);
      out.set(key, (out.get(key) ?? "") + [tick - song.bars[bar - 1], ...part.notes.slice(i + 1, i + 4)].join() + ";");
    }
  });
  return out;
}

function placeName(part, bar) {
  const section = sectionAt(song.bars[bar - 1]);
  return [song.parts[part].name, section?.name ?? "", bar - (section?.bar ?? 1)].join("\n");
}

// markNew marks for a moment the phrases in which something else is played than before.
function markNew(before) {
  const now = notesByPlace();
  const cells = [];
  rows.forEach(({kind, index}, row) => {
    if (kind !== "part") return;
    phrases.forEach((first, column) => {
      for (let bar = first; bar <= lastBar(column); bar++) {
        const name = placeName(index, bar);
        if (now.get(name) === before.get(name)) continue;
        cells.push(field[row][ahead + column]);
        break;
      }
    });
  });
  for (const c of cells) c.classList.add("new");
  setTimeout(() => { for (const c of cells) c.classList.remove("new"); }, 1600);
}

async function draftOf(id) {
  if (!held.has(id)) {
    const got = await fetch(`draft/${id}`);
    if (got.status !== 200) return null; // there is a newer one, of which the page is told
    held.set(id, await got.json());
  }
  return held.get(id);
}

// show lets a draft take over: at once, or with the next bar.
async function show(id, atBar) {
  wanted = id;
  const draft = await draftOf(id);
  if (!draft || wanted !== id) return;
  player.goOn(draft.song, atBar, () => {
    handOver();
    redraw(draft);
  });
}

// handOver lets the sound go on by itself for as long as the picture may take.
function handOver() {
  if (!player.playing) return;
  const {ahead} = player;
  player.ahead = 0.3;
  player.pump();
  player.ahead = ahead;
}

// follow takes what the program tells.
async function follow(told) {
  state = told;
  const {draft, kept, mistakes, news} = told;
  if (mistakes.join("\n") !== byId("mistakes").textContent) byId("mistakes").textContent = mistakes.join("\n");
  if (news) tellNews(news);
  byId("recipe").textContent = told.builtin ? `The recipe is ${told.recipe}, a built-in one.` : `The recipe is ${told.recipe}.`;
  byId("take").textContent = `Take ${told.take}.`;
  byId("switch").hidden = !kept;
  byId("switch").textContent = `switch to ${told.keptTake}`;
  setChoices(told);
  setSteps();
  if (draft !== wanted) await show(draft, false);
  if (kept) await draftOf(kept);
  for (const id of held.keys()) if (id !== wanted && id !== state.kept && id !== state.draft) held.delete(id);
}

// tellNews says what came of something; a mistake with its line and caret stands in letters of one width.
function tellNews(text) {
  byId("news").textContent = text;
  byId("news").classList.toggle("quoted", text.includes("\n"));
}

function setChoices({choices, ways}) {
  const focused = [...byId("choices").children].indexOf(document.activeElement);
  byId("choices").replaceChildren();
  choices.forEach((text, i) => {
    const b = add(byId("choices"), "button", {type: "button"});
    b.textContent = ways[i];
    b.addEventListener("click", () => act({do: "choice", name: text.split("=")[0], by: 1}));
    byId("choices").append(" ");
  });
  byId("choices").children[focused]?.focus();
}

let doing = Promise.resolve(); // one thing after the other

// act asks the program to do something and tells what came of it.
function act(action) {
  return doing = doing.then(async () => {
    let answer;
    try {
      const got = await fetch("act", {method: "POST", body: JSON.stringify({draft: wanted, ...action})});
      answer = got.headers.get("Content-Type") === "application/json" ? await got.json() : {failed: true, text: await got.text()};
    } catch {
      answer = {failed: true, text: gone};
    }
    if (answer.name) {
      ask(`${answer.text}:`, answer.name, async (name) => {
        if (!(await act({do: "name", name})).failed) act(action);
      });
    }
    tellNews(answer.name ? "" : answer.text); // it is asked for in the line above
    // What is asked for next is meant of what came of this.
    for (let n = 0; n < 100 && !answer.failed && wanted !== answer.draft; n++) await new Promise((r) => setTimeout(r, 20));
    return answer;
  });
}

const gone = "The program has ended or cannot be reached; the last draft plays on.";

// The line in which something is asked for.
let answered = null;
let askedFrom = null;

function ask(question, value, then) {
  byId("question").textContent = question;
  byId("answer").value = value;
  askedFrom = document.activeElement;
  answered = then;
  byId("ask").hidden = false;
  byId("answer").focus();
  byId("answer").select();
}

function leave() {
  byId("ask").hidden = true;
  if (askedFrom?.isConnected) askedFrom.focus();
  else here?.focus();
}

byId("ask").addEventListener("submit", (e) => {
  e.preventDefault();
  const then = answered;
  leave();
  then(byId("answer").value);
});
byId("ask").addEventListener("keydown", (e) => { if (e.key === "Escape") leave(); });
byId("leave").addEventListener("click", leave);

// The section that is written in: that of the cell with the focus, else of the bar that is heard.
function sectionHere() {
  const at = document.activeElement?.place;
  const first = at && at.column >= ahead ? phrases[at.column - ahead] : bar();
  return song.sections.findIndex((s) => s.bar <= first && first < s.bar + s.bars);
}

let written = -1; // the section that was told last

function tellSection() {
  const i = sectionHere();
  if (i >= 0) written = i;
  written = Math.min(written, song.sections.length - 1);
  byId("section").textContent = written < 0 ? "No section." : `${song.sections[written].name}:`;
  for (const b of byId("ways-of-section").children) b.disabled = written < 0;
}

const onSection = {
  bars: (by) => act({do: "bars", section: written, by}),
  move: (by) => act({do: "move", section: written, by}),
  double: () => act({do: "double", section: written}),
  remove: () => act({do: "remove", section: written}),
  keys: () => openKeys(written),
  rename: () => {
    const section = written;
    ask(`Another name for ${song.sections[section].name}:`, song.sections[section].name.replace(/ \d+$/, ""), (name) => act({do: "rename", section, name}));
  },
};

for (const b of byId("ways-of-section").children) {
  b.addEventListener("click", () => onSection[b.dataset.do](Number(b.dataset.by ?? 0)));
}

byId("grid").addEventListener("focusin", tellSection);
setInterval(() => { if (player.playing && !document.activeElement?.place) tellSection(); }, 500);

// turnPart lets a part in or takes it out in the phrase of a bar.
function turnPart(row, first) {
  const i = song.sections.findIndex((s) => s.bar <= first && first < s.bar + s.bars);
  const part = partOf(row);
  if (part < 0) return null;
  if (i < 0) {
    tellNews("There is no section here to let parts in and out of.");
    return null;
  }
  const {bar} = song.sections[i], column = columnAt(first);
  return act({do: "part", section: i, name: song.parts[part].name, first: phrases[column] - bar + 1, last: lastBar(column) - bar + 1});
}

// A click on a part writes; with Shift, and everywhere else, it plays.
sheet.addEventListener("click", (e) => {
  if (e.shiftKey || e.target.closest(".head")) return;
  const at = e.detail ? find(e.clientX, e.clientY) : {bar: Number(e.target.dataset.bar), row: e.target.place?.row};
  if (!at.bar || rows[at.row]?.kind !== "part") return;
  e.stopPropagation();
  turnPart(at.row, at.bar);
}, true);

const keep = () => act({do: "keep"});

function switchTakes() {
  if (!state?.kept) return;
  const id = state.kept;
  show(id, true);
  act({do: "switch"});
}

byId("undo").addEventListener("click", () => act({do: "undo"}));
byId("redo").addEventListener("click", () => act({do: "redo"}));
byId("earlier").addEventListener("click", () => act({do: "take", by: -1}));
byId("later").addEventListener("click", () => act({do: "take", by: 1}));
byId("keep").addEventListener("click", keep);
byId("switch").addEventListener("click", switchTakes);

// The steps of the recipe, each in words, and a form made from the options of its move.
let catalogue = null;
let writtenSteps = [];

async function setSteps() {
  if (!byId("steps").open) return;
  try {
    catalogue ??= await (await fetch("moves")).json();
    writtenSteps = await (await fetch("steps")).json();
  } catch {
    return; // of which the line of news tells
  }
  if (!byId("move").children.length) {
    for (const name of [...new Set(catalogue.map((m) => m.group))]) {
      const group = add(byId("move"), "optgroup", {label: name});
      for (const m of catalogue.filter((m) => m.group === name)) add(group, "option", {value: m.name}).textContent = m.name;
    }
  }
  const at = [...byId("list").querySelectorAll("button")].indexOf(document.activeElement);
  byId("list").replaceChildren();
  writtenSteps.forEach((step, n) => {
    const line = add(byId("list"), "li");
    line.append(`${step.move}: ${step.options.map((o) => `${o.name} ${o.texts.join(", ")}`).join("; ")} `);
    const word = (text, does) => {
      const b = add(line, "button", {type: "button"});
      b.textContent = text;
      add(b, "span", {class: "unseen"}).textContent = ` step ${n + 1}, ${step.move}`;
      b.addEventListener("click", does);
      line.append(" ");
    };
    word("change", () => openStep(n, step.move));
    if (n > 0) word("earlier", () => act({do: "move step", step: n, by: -1}));
    if (n < writtenSteps.length - 1) word("later", () => act({do: "move step", step: n, by: 1}));
    word("remove", () => act({do: "remove step", step: n}));
  });
  byId("list").querySelectorAll("button")[at]?.focus();
}

// A form made from fields: those of a move, of a section or of the recipe.
let formOf = null; // what it is about: {options, send, back}

// openForm opens a form behind an element of the page. Options are what is written now, send does what was typed, back
// gives the element that the focus goes back to.
function openForm(behind, title, fields, options, send, back) {
  formOf = {options, send, back};
  behind.after(byId("form"));
  byId("brief").textContent = title;
  byId("fields").replaceChildren();
  fields.forEach((field, i) => {
    const line = add(byId("fields"), "p");
    add(line, "label", {for: `field-${i}`}).textContent = field.name;
    line.append(" ");
    const texts = options.find((o) => o.name === field.name)?.texts ?? [];
    const e = field.list ? add(line, "textarea", {rows: Math.max(texts.length, 1)}) : add(line, "input", {type: "text", list: `words-${i}`});
    for (const [name, value] of Object.entries({id: `field-${i}`, "data-name": field.name, "aria-describedby": `about-${i}`, autocomplete: "off", spellcheck: "false"})) e.setAttribute(name, value);
    e.value = texts.length || !options.find((o) => o.name === field.name)?.list ? texts.join("\n") : "[]";
    const likely = [...field.words, ...(field.kind === "part" ? song.parts.map((p) => p.name) : [])];
    if (!field.list) for (const word of likely) add(e.list ?? add(line, "datalist", {id: `words-${i}`}), "option", {value: word});
    const want = field.kind === "words" ? `one of ${field.words.join(", ")}` : field.want;
    add(line, "span", {id: `about-${i}`}).textContent = [field.doc, field.required && "needed", want,
      field.default && `${field.default} where it is left out`, field.list && "several values a line each"].filter(Boolean).join("; ");
  });
  byId("form").hidden = false;
  (byId("fields").querySelector("input, textarea") ?? byId("form").querySelector("button")).focus();
}

// typedIn is what a field holds: a value a line, or values in brackets as they stand in a recipe, where [] is none at all.
function typedIn(e) {
  const list = e.matches("textarea") && /^\s*\[([^]*)\]\s*$/.exec(e.value);
  const texts = (list ? list[1].split(/[,\n]/) : e.value.split("\n")).map((t) => t.trim()).filter(Boolean);
  return {name: e.dataset.name, texts, list: Boolean(list)};
}

function leaveForm() {
  byId("form").hidden = true;
  formOf.back()?.focus();
}

byId("form").addEventListener("submit", async (e) => {
  e.preventDefault();
  const {options, send} = formOf;
  const typed = [...byId("fields").querySelectorAll("input, textarea")].map(typedIn);
  const asText = (o) => o?.texts.length ? o.texts.join("\n") : o?.list ? "[]" : "";
  const answer = await send(typed.filter((o) => asText(o) !== asText(options.find(({name}) => name === o.name))));
  if (!answer) return leaveForm();
  if (!answer.failed || answer.name) byId("form").hidden = true;
  if (!answer.failed) leaveForm();
});
byId("form").addEventListener("keydown", (e) => { if (e.key === "Escape") leaveForm(); });
byId("leave-form").addEventListener("click", leaveForm);

// openStep opens the form of a step; of another one where n is -1.
function openStep(n, move) {
  const {brief, fields} = catalogue.find((m) => m.name === move);
  const send = (changed) => n < 0 ? act({do: "add step", step: writtenSteps.length, name: move, options: changed}) :
    changed.length && act({do: "set step", step: n, options: changed});
  openForm(byId("steps").lastElementChild === byId("form") ? byId("form").previousElementSibling : byId("steps").lastElementChild,
    `${n < 0 ? "Another step" : `Step ${n + 1}`}, ${move}: ${brief}`, fields, n < 0 ? [] : writtenSteps[n].options, send,
    () => byId("list").querySelectorAll("li")[n]?.querySelector("button") ?? byId("add"));
}

// openKeys opens the form of a section; of the recipe where it is -1.
async function openKeys(section) {
  const from = document.activeElement;
  let keys;
  try {
    keys = await (await fetch("keys")).json();
  } catch {
    return tellNews(gone);
  }
  if (section >= keys.sections.length) return tellNews("The recipe has no sections.");
  const back = () => from.isConnected ? from : here;
  if (section < 0) {
    openForm(byId("of-recipe"), `${state.recipe}, as it is written. What is left empty counts as it is told below the line.`, keys.recipe, keys.written,
      (changed) => changed.length && act({do: "set key", options: changed}), back);
    return;
  }
  openForm(byId("of-section"), `${song.sections[section].name}, as it is written. What is left empty counts as it is told below the line.`, keys.section, keys.sections[section],
    (changed) => changed.length && act({do: "set section", section, options: changed}), back);
}

byId("recipe-keys").addEventListener("click", () => openKeys(-1));
byId("add").addEventListener("click", () => openStep(-1, byId("move").value));
byId("steps").addEventListener("toggle", setSteps);

// Keys that write; those of the picture are in view.js.
const writingKeys = {
  t: (by) => act({do: "take", by}),
  z: (by) => act({do: by > 0 ? "undo" : "redo"}),
  k: keep,
  x: switchTakes,
};

const pictureKeys = {
  i: (_, {row, column}) => turnPart(row, phrases[column - ahead]),
  b: (by) => onSection.bars(by),
  o: (by) => onSection.move(by),
  d: () => onSection.double(),
  r: () => onSection.rename(),
  e: () => onSection.keys(),
  Delete: (_, {row}) => rows[row].kind === "sections" && onSection.remove(),
};

document.addEventListener("keydown", (e) => {
  if (e.altKey || e.metaKey || e.ctrlKey && e.key.toLowerCase() !== "z" || e.target.matches("#answer, textarea, select, #form input")) return;
  const at = e.target.place, by = e.shiftKey ? -1 : 1;
  const key = e.key.length === 1 ? e.key.toLowerCase() : e.key;
  const digit = /^Digit([1-9])$/.exec(e.code)?.[1];
  let does = writingKeys[key] ?? (at && at.column >= ahead ? pictureKeys[key] : null);
  if (digit) does = () => state?.choices[digit - 1] && act({do: "choice", name: state.choices[digit - 1].split("=")[0], by});
  if (!does) return;
  e.preventDefault();
  does(by, at);
});

byId("clicks").textContent = "A click on a part takes it out of the phrase or lets it in; with Shift, or below the parts, it plays from " +
  "that bar; above the parts, from the start of the section. The line under the picture tells what stands where you point.";

// A browser keeps six connections to one program. So that some are left to write by, the program listens to a few pages
// only, and lets the one that came first rest; it goes on once somebody looks at it.
const resting = "Other pages follow the draft. This one goes on when you come back to it.";
let events = null;

function listen() {
  if (events) return;
  events = new EventSource("events");
  events.addEventListener("message", (e) => follow(JSON.parse(e.data)));
  events.addEventListener("error", () => tellNews(gone));
  events.addEventListener("open", () => { if ([gone, resting].includes(byId("news").textContent)) tellNews(""); });
  events.addEventListener("rest", () => {
    events.close();
    events = null;
    tellNews(resting);
  });
}

document.addEventListener("visibilitychange", () => document.hidden || listen());
addEventListener("focus", listen);
addEventListener("pointerdown", listen);
listen();

tellSection();

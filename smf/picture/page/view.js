"use strict";

// The page around the player: the picture with its playhead, the sections, the parts, the keys.

const byId = (id) => document.getElementById(id);
const song = JSON.parse(byId("song").textContent);
const player = new Player(song);
const svg = document.querySelector("#stage svg");
const [stage, head, cell, button, hint] = ["stage", "playhead", "cell", "play", "hint"].map(byId);
const bars = song.bars.length - 1;
let zoom = 1;

// Parts from top to bottom, and the element of each row; both by the part's index in the song.
const order = song.parts.map((_, p) => p).sort((a, b) => song.view.rows[a][0] - song.view.rows[b][0]);
const drawings = new Map([...svg.querySelectorAll("g[data-part]")].map((g, i) => [order[i], g]));

const barAt = (tick) => Math.min(Math.max(countUpTo(song.bars, tick), 1), bars);
const barX = (bar) => song.view.lines[bar - 1];

// xOf is where a tick stands in the picture.
function xOf(tick) {
  const bar = barAt(tick);
  const share = (tick - song.bars[bar - 1]) / (song.bars[bar] - song.bars[bar - 1]);
  return barX(bar) + Math.min(share, 1) * (barX(bar + 1) - barX(bar));
}

// find tells which bar and which part lie under a point of the window; 0 and -1 for none.
function find(clientX, clientY) {
  const box = svg.getBoundingClientRect();
  const x = (clientX - box.left) / zoom;
  const y = (clientY - box.top) / zoom;
  const {lines, rows} = song.view;
  const bar = x < lines[0] || x >= lines[bars] ? 0 : barOfPlace(x);
  return {x, bar, part: rows.findIndex(([top, height]) => y >= top && y < top + height)};
}

// barOfPlace is the first of the bars that begin where the last one up to a place does.
function barOfPlace(x) {
  const {lines} = song.view;
  return lines.indexOf(lines[countUpTo(lines, x) - 1]) + 1;
}

function clockText(seconds) {
  const whole = Math.floor(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

// describe says what stands in a bar of a part; of part -1 only where that is.
function describe(bar, part) {
  const [start, end] = [song.bars[bar - 1], song.bars[bar]];
  const section = sectionAt(start);
  const words = [`bar ${bar}`, clockText(player.time.of(start))];
  if (section) words.unshift(section.name);
  if (part < 0) return words.join(" · ");
  const {ticks} = player.reader.parts[part];
  const notes = countUpTo(ticks, end - 1) - countUpTo(ticks, start - 1);
  words.unshift(song.parts[part].name);
  words.push(notes === 1 ? "1 note" : `${notes} notes`);
  const here = song.changes.filter((c) => c.parts.includes(part) && c.at.some(([from, to]) => from < end && to > start));
  return [...words, ...new Set(here.map((c) => c.text))].join(" · ");
}

// point marks a bar of a part and tells of it; bar 0 marks nothing.
function point(bar, part) {
  const [top, height] = song.view.rows[part] ?? [0, song.view.height];
  hint.textContent = bar ? describe(bar, part) : "";
  cell.hidden = !bar || part < 0;
  if (cell.hidden) return;
  cell.style.left = `${barX(bar) * zoom - 2}px`;
  cell.style.width = `${(barX(bar + 1) - barX(bar)) * zoom + 4}px`;
  cell.style.top = `${top * zoom}px`;
  cell.style.height = `${height * zoom}px`;
}

function sectionAt(tick) {
  return song.sections.findLast((s) => song.bars[s.bar - 1] <= tick && tick < song.bars[s.bar - 1 + s.bars]);
}

const ticksOf = (section) => [song.bars[section.bar - 1], song.bars[section.bar - 1 + section.bars]];

// setLoop loops the section that plays, or nothing.
function setLoop() {
  const section = byId("loop").checked && sectionAt(player.position);
  player.loop = section ? ticksOf(section) : null;
}

let follows = true; // the picture follows the playhead, until somebody scrolls
let scrolled = 0; // when it last did

async function playFrom(tick) {
  follows = true;
  player.stop(tick);
  player.from = tick;
  setLoop();
  await player.play(tick);
  draw();
}

function toggle() {
  if (player.playing) player.stop();
  else playFrom(player.from >= song.end ? 0 : player.from);
}

// goTo goes to a bar, playing or not, and tells of the chosen part there.
function goTo(bar) {
  const to = Math.min(Math.max(bar, 1), bars);
  const tick = song.bars[to - 1];
  follows = true;
  if (player.playing) playFrom(tick);
  else {
    player.from = tick;
    setLoop();
    draw();
  }
  point(to, chosen);
}

const bar = () => barAt(player.position);
const beginnings = () => [1, ...song.sections.map((s) => s.bar), bars];

let chosen = -1; // part for the keys

// choose goes up or down by parts.
function choose(by) {
  const at = chosen < 0 ? (by > 0 ? -1 : 0) : order.indexOf(chosen);
  chosen = order.at((at + by + order.length) % order.length) ?? -1;
  point(bar(), chosen);
}

let drawn = "";

// draw puts the playhead where the song is, and the position in words.
function draw() {
  const tick = Math.min(player.position, song.end);
  const x = xOf(tick) * zoom;
  head.style.transform = `translateX(${x}px)`;
  const text = `bar ${barAt(tick)} of ${bars}, ${clockText(player.time.of(tick))}`;
  const state = `${text} ${player.playing}`;
  if (state !== drawn) {
    drawn = state;
    byId("position").textContent = text;
    button.textContent = player.playing ? "Stop" : "Play";
    button.setAttribute("aria-pressed", String(player.playing));
    const now = sectionAt(tick);
    document.querySelectorAll("#sections button").forEach((b, i) => {
      b.setAttribute("aria-current", String(song.sections[i] === now));
    });
  }
  if (follows && (x < stage.scrollLeft || x > stage.scrollLeft + stage.clientWidth - 60)) {
    scrolled = performance.now();
    stage.scrollLeft = x - 160;
  }
  if (player.playing) requestAnimationFrame(draw);
}

const switches = [];

// turn switches a part in one of the player's sets.
function turn(set, part) {
  if (set.has(part)) set.delete(part);
  else set.add(part);
  player.gates();
  for (const [control, of, p] of switches) control.setAttribute("aria-pressed", String(of.has(p)));
  for (const [p, g] of drawings) g.classList.toggle("unheard", !player.heard(p));
}

function addButton(parent, text, label, press) {
  const b = document.createElement("button");
  b.type = "button";
  b.textContent = text;
  b.setAttribute("aria-label", label);
  b.addEventListener("click", press);
  parent.append(b);
  return b;
}

for (const section of song.sections) {
  addButton(byId("sections"), `${section.name} ${section.bar}`, `play from ${section.name}, bar ${section.bar}`, () => playFrom(ticksOf(section)[0]));
}

for (const p of order) {
  const row = document.createElement("li");
  const name = document.createElement("span");
  name.textContent = song.parts[p].name;
  row.append(name);
  for (const [text, set] of [["mute", player.muted], ["solo", player.soloed]]) {
    const b = addButton(row, text, `${text} ${song.parts[p].name}`, () => turn(set, p));
    b.setAttribute("aria-pressed", "false");
    switches.push([b, set, p]);
  }
  byId("parts").append(row);
}

function setZoom() {
  zoom = byId("zoom").value / 100;
  svg.setAttribute("width", song.view.width * zoom);
  svg.setAttribute("height", song.view.height * zoom);
  point(0, -1);
  draw();
}

function zoomBy(percent) {
  byId("zoom").value = Number(byId("zoom").value) + percent;
  setZoom();
}

button.addEventListener("click", toggle);
byId("loop").disabled = !song.sections.length;
byId("loop").addEventListener("change", setLoop);
byId("volume").addEventListener("input", (e) => player.setVolume(e.target.value / 100));
byId("zoom").addEventListener("input", setZoom);

stage.addEventListener("scroll", () => { if (performance.now() - scrolled > 150) follows = false; });
stage.addEventListener("pointermove", (e) => {
  const {bar, part} = find(e.clientX, e.clientY);
  point(bar, part);
});
stage.addEventListener("pointerleave", () => point(0, -1));
stage.addEventListener("focus", () => point(bar(), chosen));
stage.addEventListener("blur", () => point(0, -1));

stage.addEventListener("click", (e) => {
  const {x, bar, part} = find(e.clientX, e.clientY);
  if (!bar && part >= 0 && x < barX(1)) turn(player.muted, part);
  if (!bar) return;
  const section = sectionAt(song.bars[bar - 1]);
  playFrom(part < 0 && section ? ticksOf(section)[0] : song.bars[bar - 1]);
});

const keys = {
  " ": toggle,
  ArrowLeft: () => goTo(bar() - 1),
  ArrowRight: () => goTo(bar() + 1),
  ArrowUp: () => choose(-1),
  ArrowDown: () => choose(1),
  Home: () => goTo(1),
  End: () => goTo(bars),
  PageUp: () => goTo(beginnings().findLast((b) => song.bars[b - 1] < player.position - 1) ?? 1),
  PageDown: () => goTo(beginnings().find((b) => song.bars[b - 1] > player.position) ?? bars),
  l: () => byId("loop").click(),
  m: () => chosen >= 0 && turn(player.muted, chosen),
  s: () => chosen >= 0 && turn(player.soloed, chosen),
  "+": () => zoomBy(10),
  "-": () => zoomBy(-10),
};

// takes tells whether what has the focus has a key for itself.
function takes(own, key) {
  if (!own) return false;
  return own.type === "range" ? /^(Arrow|Page|Home|End)/.test(key) : key === " ";
}

document.addEventListener("keydown", (e) => {
  const key = e.key.length === 1 ? e.key.toLowerCase() : e.key;
  if (e.ctrlKey || e.altKey || e.metaKey || !keys[key] || takes(e.target.closest("button, input"), key)) return;
  e.preventDefault();
  keys[key]();
});

// What was clicked gives the keys back: the focus stays only where it came by keys.
document.addEventListener("pointerup", (e) => e.target.closest("button, input")?.blur());

draw();

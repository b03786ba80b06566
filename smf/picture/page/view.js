"use strict";

// The page around the player: playing, the sections, mute and solo, what the pointer and the keys do.

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

// goTo puts the song at a bar, playing or not.
function goTo(bar) {
  const tick = song.bars[Math.min(Math.max(bar, 1), bars) - 1];
  follows = true;
  if (player.playing) playFrom(tick);
  else {
    player.from = tick;
    setLoop();
    draw();
  }
}

const bar = () => barAt(player.position);

let chosen = -1; // the row that was clicked or has the focus
let pointed = null; // what the pointer is at, if the line under the picture tells of it

// tell says what the chosen row does in the bar that is heard.
function tell() {
  point(bar(), bar(), chosen);
}

let drawn = "";
let nextFrame = 0; // in which it is drawn while it plays; 0: in none
let told = 0; // the bar of which the line under the picture has told

// draw puts the playhead where the song is, and the position in words.
function draw() {
  const tick = Math.min(player.position, song.end);
  const x = xOf(tick) * zoom;
  head.style.transform = `translateX(${x}px)`;
  const now = barAt(tick);
  const text = `bar ${now} of ${bars}, ${clockText(player.time.of(tick))}`;
  const state = `${text} ${player.playing}`;
  if (state !== drawn) {
    drawn = state;
    byId("position").textContent = text;
    button.textContent = player.playing ? "Stop" : "Play";
    button.classList.toggle("on", player.playing);
    const section = sectionAt(tick);
    document.querySelectorAll("#sections button").forEach((b, i) => {
      b.setAttribute("aria-current", String(song.sections[i] === section));
      if (song.sections[i] === section) byId("sections").scrollLeft = b.offsetLeft - byId("sections").offsetLeft - 24;
    });
  }
  if (player.playing && !pointed && now !== told) {
    told = now;
    tell();
  }
  const room = stage.clientWidth - gutter();
  if (follows && (x < stage.scrollLeft || x > stage.scrollLeft + room - 60)) {
    scrolled = performance.now();
    stage.scrollLeft = x - Math.min(160, room / 3);
  }
  if (player.playing && !nextFrame) nextFrame = requestAnimationFrame(() => {
    nextFrame = 0;
    draw();
  });
}

// turn switches a part in one of the player's sets.
function turn(set, part) {
  if (set.has(part)) set.delete(part);
  else set.add(part);
  player.gates();
  for (const [control, of, p] of switches) control.setAttribute("aria-pressed", String(of.has(p)));
  for (const [p, g] of drawings) g.classList.toggle("unheard", !player.heard(p));
}

// setSections makes the buttons of the song's sections.
function setSections() {
  byId("sections").replaceChildren();
  byId("sections").hidden = !song.sections.length;
  byId("loop").disabled = !song.sections.length;
  for (const section of song.sections) {
    const b = add(byId("sections"), "button", {type: "button", "data-section": section.name});
    add(b, "b").textContent = section.name;
    b.append(" ");
    add(b, "span").textContent = barsText(section.bar, section.bar + section.bars - 1);
    b.addEventListener("click", () => playFrom(ticksOf(section)[0]));
  }
  drawn = "";
}

// setRange says how far a range is, for who hears the page.
function setRange(id) {
  byId(id).setAttribute("aria-valuetext", `${byId(id).value}%`);
}

function setZoom() {
  zoom = byId("zoom").value / 100;
  setRange("zoom");
  setWidth();
  point(0, 0, -1);
  draw();
}

function zoomBy(percent) {
  byId("zoom").value = Number(byId("zoom").value) + percent;
  setZoom();
}

button.addEventListener("click", toggle);
byId("loop").addEventListener("change", setLoop);
byId("volume").addEventListener("input", (e) => {
  player.setVolume(e.target.value / 100);
  setRange("volume");
});
byId("zoom").addEventListener("input", setZoom);

stage.addEventListener("scroll", () => { if (performance.now() - scrolled > 150) follows = false; });

sheet.addEventListener("pointermove", (e) => {
  if (e.pointerType === "touch") return; // which points where it clicks
  const {bar, row} = e.target.closest(".head") ? {bar: 0, row: -1} : find(e.clientX, e.clientY);
  const at = `${bar} ${row}`;
  if (at === left) return;
  left = "";
  pointed = bar ? at : null;
  point(bar, bar, row);
});

let left = ""; // where the pointer was when it clicked: until it goes on, the line follows the song

sheet.addEventListener("pointerleave", () => {
  left = "";
  pointed = null;
  told = 0;
  point(0, 0, -1);
});

sheet.addEventListener("click", (e) => {
  if (e.target.closest(".head")) return;
  // A screen reader presses a cell without saying where.
  const at = e.detail ? find(e.clientX, e.clientY) : {bar: Number(e.target.dataset.bar), row: e.target.place?.row};
  if (!at.bar) return;
  left = `${at.bar} ${at.row}`;
  playCell(at.bar, at.row);
});

// playCell plays from a bar of a row; from the start of the section where the row is none of a part or move.
function playCell(bar, row) {
  const section = sectionAt(song.bars[bar - 1]);
  chosen = row;
  pointed = null;
  told = 0;
  const tick = (rows[row]?.index ?? -1) < 0 && section ? ticksOf(section)[0] : song.bars[bar - 1];
  point(barAt(tick), barAt(tick), row);
  playFrom(tick);
}

// uncover scrolls what has the focus out from behind the names.
function uncover(e) {
  const behind = stage.getBoundingClientRect().left + gutter() + 4 - e.getBoundingClientRect().left;
  if (behind > 0) stage.scrollLeft -= behind;
}

byId("grid").addEventListener("focusin", (e) => {
  const at = e.target.place;
  if (!at) return;
  settle(e.target);
  chosen = at.row;
  if (at.column < ahead || !e.target.matches(":focus-visible")) return;
  const first = phrases[at.column - ahead];
  point(first, lastBar(at.column - ahead), at.row);
  cell.hidden = true; // the cell itself is marked
  uncover(e.target);
  if (player.playing) {
    told = bar();
    follows = false; // the picture stays with the focus
  } else goTo(first);
});

// section goes to the section before or after the focus.
function section(row, column, by) {
  const first = phrases[Math.max(column - ahead, 0)];
  const begins = [1, ...song.sections.map((s) => s.bar)];
  const to = by < 0 ? begins.findLast((b) => b < first) ?? 1 : begins.find((b) => b > first) ?? bars;
  reach(row, ahead + columnAt(to));
}

// say lets who hears the page know what a key did that moved no focus.
function say(text) {
  byId("said").textContent = text;
}

// step goes on or back by bars and tells of the row there.
function step(row, by) {
  goTo(bar() + by);
  told = bar();
  point(told, told, row);
  say(describe(told, told, row));
}

function turnByKey(set, row, on, off) {
  const part = partOf(row);
  if (part < 0) return;
  turn(set, part);
  say(`${song.parts[part].name} ${set.has(part) ? on : off}`);
}

const partOf = (row) => rows[row].kind === "part" ? rows[row].index : -1;

// gridKeys work while the focus is in the grid, from a row and column.
const gridKeys = {
  ...ways,
  Enter: (row, column) => playCell(phrases[column - ahead], row),
  ",": (row, column) => section(row, column, -1),
  ".": (row, column) => section(row, column, 1),
  l: () => {
    byId("loop").click();
    say(player.loop ? "loops the section" : "loops nothing");
  },
  m: (row) => turnByKey(player.muted, row, "is muted", "is not muted"),
  s: (row) => turnByKey(player.soloed, row, "plays solo", "plays with the others"),
  "+": () => zoomBy(10),
  "-": () => zoomBy(-10),
};

const shiftKeys = {
  ArrowLeft: (row) => step(row, -1),
  ArrowRight: (row) => step(row, 1),
};

// Whatever is pressed, opened or typed in has Space and Enter for itself.
const takes = (own, key) => own && own.type !== "range" && (key === " " || key === "Enter");

document.addEventListener("keydown", (e) => {
  const key = e.key.length === 1 ? e.key.toLowerCase() : e.key;
  if (e.altKey || e.metaKey || takes(e.target.closest("button, input, textarea, select, summary, a"), key)) return;
  const at = e.target.place;
  let act = key === " " && !e.ctrlKey ? toggle : null;
  if (at) act ??= e.ctrlKey ? farWays[key] : (e.shiftKey && shiftKeys[key]) || gridKeys[key];
  if (!act) return;
  e.preventDefault();
  act(at?.row, at?.column);
});

// What was clicked gives Space back: the focus stays only where it came by keys.
document.addEventListener("pointerup", (e) => e.target.closest("button, input:not([type=text])")?.blur());

setSections();

// A picture that is a little too wide for the window is made to fit.
setRange("volume");
setWidth();
const fits = Math.floor(100 * (stage.clientWidth - gutter()) / song.view.width);
if (fits >= 75) byId("zoom").value = Math.min(fits, 100);
setZoom();

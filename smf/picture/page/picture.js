"use strict";

// The picture: where ticks, bars and rows stand in it, how wide it is drawn, what lies under a point.

const byId = (id) => document.getElementById(id);
let song = JSON.parse(byId("song").textContent);
const player = new Player(song);
let svg;
const [stage, sheet, head, cell, button, hint] = ["stage", "sheet", "playhead", "cell", "play", "hint"].map(byId);
let bars;
let zoom = 1; // of the bars; rows keep their height, so that a finger finds them

let rows; // from top to bottom: the sections, the parts, the moves. An index is that of the part or move in the song.
let drawings; // the element of each part's row, by the part's index in the song
let texts; // of the picture

// setPicture finds its way in the picture of the song.
function setPicture() {
  svg = document.querySelector("#picture svg");
  svg.setAttribute("preserveAspectRatio", "none");
  bars = song.bars.length - 1;
  rows = [
    {kind: "sections", index: -1, name: "sections", top: song.view.head[0], tall: song.view.head[1] - song.view.head[0]},
    ...song.parts.map((part, index) => ({kind: "part", index, name: part.name, top: song.view.rows[index], tall: song.view.tall}))
      .sort((a, b) => a.top - b.top),
    ...song.view.moves.map(({text, y}, index) => ({kind: "move", index, name: text, top: y, tall: song.view.moveTall})),
  ];
  drawings = new Map([...svg.querySelectorAll("g[data-part]")].map((g, i) => [rows[i + 1].index, g]));
  texts = [...svg.querySelectorAll("text")].map((e) => ({
    e, x: Number(e.getAttribute("x")), y: e.getAttribute("y"), wide: e.getComputedTextLength(),
    section: e.parentNode.dataset.section === undefined ? null : e.parentNode.dataset,
    name: e.matches("[data-section] > text:first-of-type"),
  })).sort((a, b) => b.name - a.name);
}

const rowOfPart = (part) => rows.findIndex((r) => r.kind === "part" && r.index === part);

const barAt = (tick) => Math.min(Math.max(countUpTo(song.bars, tick), 1), bars);
const barX = (bar) => song.view.lines[bar - 1];

// xOf is where a tick stands in the picture.
function xOf(tick) {
  const bar = barAt(tick);
  const share = (tick - song.bars[bar - 1]) / (song.bars[bar] - song.bars[bar - 1]);
  return barX(bar) + Math.min(share, 1) * (barX(bar + 1) - barX(bar));
}

// find tells which bar and which row lie under a point of the window; 0 and -1 for none.
function find(clientX, clientY) {
  const box = svg.getBoundingClientRect();
  const x = (clientX - box.left) / zoom;
  const y = clientY - box.top;
  const {lines} = song.view;
  const bar = x < lines[0] || x >= lines[bars] ? 0 : barOfPlace(x);
  return {bar, row: rows.findIndex(({top, tall}) => y >= top && y < top + tall)};
}

// barOfPlace is the first of the bars that begin where the last one up to a place does.
function barOfPlace(x) {
  const {lines} = song.view;
  return lines.indexOf(lines[countUpTo(lines, x) - 1]) + 1;
}

// gutter is how wide the names are that stand over the left of the picture.
const gutter = () => byId("labels").offsetWidth;

// The texts of the picture keep their shape however wide the bars are. One that would meet another of its line is left
// out: the names of the sections come first, and are squeezed a little where that makes them fit. Their bars stand beside
// them.
const leastSqueezed = 0.7;

// endOf is where a section ends in the picture as it is drawn, less a little.
const endOf = ({bar, bars: long}) => barX(Math.min(Number(bar) + Number(long), bars + 1)) * zoom - 3;

function setTexts() {
  const taken = new Map();
  const named = new Map(); // by section: where its name ends
  for (const {e, x, y, wide, section, name} of texts) {
    if (!taken.has(y)) taken.set(y, []);
    const line = taken.get(y);
    const from = section && !name ? (named.get(section) ?? Infinity) + 8 : x * zoom;
    const room = section ? endOf(section) - from : wide;
    const squeezed = name && room < wide && room >= leastSqueezed * wide;
    if (squeezed) e.setAttribute("textLength", room);
    else e.removeAttribute("textLength");
    const to = from + (squeezed ? room : wide);
    const apart = name ? 0 : 4;
    const free = (name || room >= wide) && line.every(([a, b]) => to + apart <= a || b + apart <= from);
    e.classList.toggle("unroomed", !free);
    if (!free) continue;
    line.push([from, to]);
    if (name) named.set(section, to);
    e.setAttribute("transform", `scale(${1 / zoom} 1)`);
    e.setAttribute("x", from);
    e.setAttribute("lengthAdjust", "spacingAndGlyphs");
  }
}

// setWidth draws the bars as wide as the zoom has it.
function setWidth() {
  const wide = song.view.width * zoom;
  svg.setAttribute("width", wide);
  sheet.style.setProperty("--wide", `${wide}px`);
  sheet.style.setProperty("--high", `${song.view.height}px`);
  sheet.style.setProperty("--gutter", `${song.view.names}px`);
  sheet.style.width = `calc(var(--row) + ${wide}px)`;
  setTexts();
}

setPicture();

"use strict";

// The grid over the picture: a row for the sections, for each part and each move, a cell for each phrase, and the names
// with mute and solo before them. Keys move in it as in the grid of the WAI-ARIA Authoring Practices Guide: one of its
// cells is in the order of Tab, the others are reached from there.

let phrases; // the bars with which the columns begin
const lastBar = (column) => (phrases[column + 1] ?? bars + 1) - 1;
const columnAt = (bar) => countUpTo(phrases, bar) - 1;
const ahead = 2; // mute and solo stand before the first phrase
let field; // by row: what may have the focus, and holes
let switches;
let here = null; // the cell that Tab reaches

function add(parent, name, attributes = {}) {
  const e = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
  parent.append(e);
  return e;
}

// addSwitch adds a button to the head of a part's row that turns the part in one of the player's sets.
function addSwitch(parent, text, set, part) {
  const b = add(add(parent, "div", {role: "gridcell"}), "button", {type: "button", tabindex: "-1", "aria-pressed": "false"});
  b.textContent = text;
  add(b, "span", {class: "unseen"}).textContent = ` ${song.parts[part].name}`;
  b.addEventListener("click", () => turn(set, part));
  switches.push([b, set, part]);
  return b;
}

function addRow(row) {
  const {kind, index, name, top, tall} = rows[row];
  const line = add(byId("grid"), "div", {role: "row", class: kind, id: `row-${row}`, [`data-${kind}`]: name});
  line.style.top = `${top}px`;
  line.style.height = `${tall}px`;
  const front = add(line, "div", {class: "head"});
  const title = add(front, "div", {role: "rowheader", title: name});
  const places = Array(ahead).fill(null);
  if (kind === "sections") add(title, "span", {class: "unseen"}).textContent = name;
  else title.textContent = name;
  if (kind === "part") {
    places[0] = addSwitch(front, "mute", player.muted, index);
    places[1] = addSwitch(front, "solo", player.soloed, index);
  } else title.setAttribute("aria-colspan", String(1 + ahead));
  const cells = add(line, "div", {class: "cells"});
  phrases.forEach((first, column) => {
    const c = add(cells, "div", {role: "gridcell", tabindex: "-1", "data-bar": first, "aria-label": words(first, lastBar(column), row).join(", ")});
    c.style.left = `${100 * barX(first) / song.view.width}%`;
    c.style.width = `${100 * (barX(lastBar(column) + 1) - barX(first)) / song.view.width}%`;
    places.push(c);
  });
  places.forEach((e, column) => {
    if (e) e.place = {row, column};
  });
  field.push(places);
}

// setGrid makes the grid of the song.
function setGrid() {
  [{phrases}, field, switches] = [song.view, [], []];
  byId("labels").replaceChildren();
  byId("grid").replaceChildren();
  for (const {text, y, soft} of song.view.labels) {
    if (song.parts.some((p) => p.name === text) && rows.some((r) => r.kind === "part" && r.name === text && r.top < y && y <= r.top + r.tall)) continue;
    if (rows.some((r) => r.kind === "move" && r.name === text && r.top < y && y <= r.top + r.tall)) continue;
    const label = add(byId("labels"), "span", soft ? {class: "soft"} : {});
    label.textContent = text;
    label.style.top = `${y - 11}px`;
  }
  rows.forEach((_, row) => addRow(row));
  settle(field[Math.min(1, field.length - 1)][ahead]);
}

// reach gives the focus to a cell; of a place without one, to the next there is to the right.
function reach(row, column) {
  const places = field[Math.min(Math.max(row, 0), field.length - 1)];
  const to = Math.min(Math.max(column, 0), places.length - 1);
  (places[to] ?? places.find(Boolean)).focus();
}

// settle makes a cell the one that Tab reaches.
function settle(e) {
  here?.setAttribute("tabindex", "-1");
  here = e;
  here.setAttribute("tabindex", "0");
}

setGrid();

const pageRows = 5;

// ways are the keys that move in the grid, from a row and column.
const ways = {
  ArrowLeft: (row, column) => field[row][column - 1] && reach(row, column - 1),
  ArrowRight: (row, column) => reach(row, column + 1),
  ArrowUp: (row, column) => reach(row - 1, column),
  ArrowDown: (row, column) => reach(row + 1, column),
  PageUp: (row, column) => reach(row - pageRows, column),
  PageDown: (row, column) => reach(row + pageRows, column),
  Home: (row) => reach(row, 0),
  End: (row) => reach(row, Infinity),
};

const farWays = {
  Home: () => reach(0, 0),
  End: () => reach(Infinity, Infinity),
};

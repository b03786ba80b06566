"use strict";

// Words: what stands in a stretch of a row.

function clockText(seconds) {
  const whole = Math.floor(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

function sectionAt(tick) {
  return song.sections.findLast((s) => song.bars[s.bar - 1] <= tick && tick < song.bars[s.bar - 1 + s.bars]);
}

const ticksOf = (section) => [song.bars[section.bar - 1], song.bars[section.bar - 1 + section.bars]];
const barsText = (first, last) => first === last ? `bar ${first}` : `bars ${first} to ${last}`;

let ofPart, ofMove; // what happened, by part and by move

function findChanges() {
  ofPart = song.parts.map((_, part) => song.changes.filter((c) => c.parts.includes(part)));
  ofMove = song.view.moves.map((_, move) => song.changes.filter((c) => c.moves.includes(move)));
}

findChanges();

// words says what stands in the bars first to last of a row, as a list; row -1 only where that is.
function words(first, last, row) {
  const [start, end] = [song.bars[first - 1], song.bars[last]];
  const section = sectionAt(start);
  const where = [barsText(first, last), clockText(player.time.of(start))];
  if (section) where.unshift(section.name);
  const {kind, index, name} = rows[row] ?? {};
  const here = (changes) => changes.filter((c) => c.at.some(([from, to]) => from < end && to > start));
  switch (kind) {
    case "part": {
      const {ticks} = player.reader.parts[index];
      const notes = countUpTo(ticks, end - 1) - countUpTo(ticks, start - 1);
      return [name, ...where, notes === 1 ? "1 note" : `${notes} notes`, ...new Set(here(ofPart[index]).map((c) => c.text))];
    }
    case "move": {
      const works = here(ofMove[index]).map((c) => [c.text, c.parts.map((p) => song.parts[p].name).join(", ")].filter(Boolean).join(" on "));
      return [name, ...where, ...(works.length ? new Set(works) : ["not at work"])];
    }
    case "sections": {
      const heard = song.heard.filter((h) => h.bar >= first && h.bar <= last).map((h) => h.text);
      return [...where, ...(section ? [`energy ${section.energy}`] : []), ...heard];
    }
  }
  return where;
}

const describe = (first, last, row) => words(first, last, row).join(" · ");

const idle = "Point at the picture or click it: this line tells what stands there.";

// point marks the bars first to last of a row and tells of them; bar 0 marks nothing and tells nothing.
function point(first, last, row) {
  hint.textContent = first ? describe(first, last, row) : idle;
  mark(first, last, row);
}

function mark(first, last, row) {
  cell.hidden = !first || !rows[row];
  if (cell.hidden) return;
  cell.style.left = `${barX(first) * zoom - 2}px`;
  cell.style.width = `${(barX(last + 1) - barX(first)) * zoom + 4}px`;
  cell.style.top = `${rows[row].top}px`;
  cell.style.height = `${rows[row].tall}px`;
}

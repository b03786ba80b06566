"use strict";

// Sound: a song of notes and controllers, played by one plain voice for each role. Times in the song are
// ticks; a context's times are seconds.

// countUpTo tells how many of some rising numbers are at most so large.
function countUpTo(numbers, most) {
  let [from, to] = [0, numbers.length];
  while (from < to) {
    const middle = (from + to) >> 1;
    if (numbers[middle] <= most) from = middle + 1;
    else to = middle;
  }
  return from;
}

// Time turns ticks into seconds and back, along the song's tempi.
class Time {
  constructor(ppq, tempi) {
    this.ticks = tempi.map(([tick]) => tick);
    this.perTick = tempi.map(([, micros]) => micros / 1e6 / ppq);
    this.seconds = [0];
    for (let i = 1; i < tempi.length; i++) {
      this.seconds.push(this.seconds[i - 1] + (this.ticks[i] - this.ticks[i - 1]) * this.perTick[i - 1]);
    }
  }

  of(tick) {
    const i = Math.max(countUpTo(this.ticks, tick) - 1, 0);
    return this.seconds[i] + (tick - this.ticks[i]) * this.perTick[i];
  }

  tickAt(seconds) {
    const i = Math.max(countUpTo(this.seconds, seconds) - 1, 0);
    return this.ticks[i] + (seconds - this.seconds[i]) / this.perTick[i];
  }
}

// level is the gain of a value 0..127, by the square law of DLS Level 1 for velocity, volume and expression.
const level = (value) => (value / 127) ** 2;
const hertz = (key) => 440 * 2 ** ((key - 69) / 12);

// The voices: what a note of each role is made of. An oscillator or noise runs through a filter into an
// envelope: attack, decay to a sustained share, release, in seconds. Struck sounds have no sustain and
// last as long as they decay, however short their note is. A dry voice has no reverb of itself. The balance
// is by measured peaks, kick and bass first (common practice, no source).
const voices = {
  kick: {gain: 2, dry: true, osc: [["sine", 48, 0]], drop: [3.2, 0.06], env: [0.001, 0.32], click: 0.25},
  snare: {gain: 0.85, osc: [["triangle", 185, 0]], noise: ["highpass", 1400, 1.2], drop: [1.5, 0.03], env: [0.001, 0.17]},
  clap: {gain: 0.85, noise: ["bandpass", 1500, 2.2], env: [0.001, 0.16], bursts: 3},
  rim: {gain: 1.1, osc: [["square", 820, 0], ["triangle", 1720, 0]], env: [0.001, 0.035]},
  hat: {gain: 1.2, noise: ["highpass", 8000, 1], env: [0.001, 0.05]},
  "open-hat": {gain: 0.55, noise: ["highpass", 7000, 1], env: [0.001, 0.28]},
  shaker: {gain: 0.5, noise: ["bandpass", 6500, 1.4], env: [0.012, 0.07]},
  ride: {gain: 0.26, noise: ["highpass", 6000, 0.5], osc: [["square", 3150, 0], ["square", 4270, 0]], env: [0.001, 0.5], filter: 6000},
  crash: {gain: 0.38, noise: ["highpass", 4200, 1], env: [0.002, 1.5]},
  tom: {gain: 1.3, osc: [["sine", 0, 0]], drop: [1.6, 0.08], env: [0.001, 0.3], base: 47, pitch: 110},
  perc: {gain: 1.4, osc: [["triangle", 0, 0]], drop: [1.3, 0.02], env: [0.001, 0.14], base: 60, pitch: 330},
  fx: {gain: 0.4, noise: ["bandpass", 2000, 1], env: [0.02, 0.5]},
  bass: {gain: 0.35, dry: true, osc: [["sawtooth", 0, 0], ["sine", 0, 0]], env: [0.004, 0.25, 0.7, 0.05], filter: 700},
  sub: {gain: 0.5, dry: true, osc: [["sine", 0, 0]], env: [0.006, 0.2, 0.9, 0.06]},
  lead: {gain: 0.38, osc: [["sawtooth", 0, -6], ["sawtooth", 0, 6]], env: [0.005, 0.3, 0.7, 0.1], filter: 4200},
  stab: {gain: 0.42, osc: [["sawtooth", 0, -8], ["sawtooth", 0, 8]], env: [0.003, 0.3, 0.3, 0.12], filter: 2600},
  chords: {gain: 0.32, osc: [["sawtooth", 0, -7], ["triangle", 0, 7]], env: [0.006, 0.5, 0.5, 0.2], filter: 2400},
  arp: {gain: 0.36, osc: [["square", 0, 0]], env: [0.002, 0.16, 0.2, 0.06], filter: 3600},
  pad: {gain: 0.28, osc: [["sawtooth", 0, -9], ["sawtooth", 0, 9]], env: [0.12, 0.6, 0.8, 0.4], filter: 1700},
  strings: {gain: 0.28, osc: [["sawtooth", 0, -5], ["sawtooth", 0, 5]], env: [0.08, 0.4, 0.85, 0.3], filter: 2800},
  vocal: {gain: 0.28, osc: [["triangle", 0, -4], ["sawtooth", 0, 4]], env: [0.03, 0.3, 0.8, 0.15], filter: 1900},
  drone: {gain: 0.26, osc: [["sine", 0, 0], ["sawtooth", 0, 4]], env: [0.4, 1, 0.9, 0.8], filter: 420},
  unknown: {gain: 0.28, osc: [["triangle", 0, 0]], env: [0.005, 0.3, 0.6, 0.1], filter: 5000},
};

// controllers says how a controller of a part moves its bus: the parameter and its value for 0..127.
// A filter is as the voice has it at 64, the middle of the controller (RP-021).
const controllers = {
  7: (bus, v) => [bus.volume.gain, level(v)],
  11: (bus, v) => [bus.expression.gain, level(v)],
  10: (bus, v) => [bus.pan.pan, Math.max(-1, (v - 64) / 63)],
  74: (bus, v) => [bus.filter.frequency, Math.min(bus.cutoff * 2 ** ((v - 64) / 16), bus.ctx.sampleRate / 2.1)],
  71: (bus, v) => [bus.filter.Q, Math.max(0, (v - 64) / 5)],
  91: (bus, v) => [bus.send.gain, 0.7 * level(v)],
  bend: (bus, cents) => [bus.bend.offset, cents],
};

// initial says where a controller stands before anything sets it: General MIDI System Level 1 Developer
// Guidelines and MMA RP-015; reverb 40, from memory, as General MIDI 2 has it. Low voices have none.
const initial = {7: 100, 10: 64, 11: 127, 71: 64, 74: 64, 91: 40, bend: 0};

const tail = 3; // seconds after which no note that has ended is heard

// Bus is what all notes of a part run through.
class Bus {
  constructor(ctx, part, out, room) {
    Object.assign(this, {ctx, part});
    this.voice = voices[part.role] ?? voices.unknown;
    this.cutoff = this.voice.filter ?? 18000;
    this.filter = new BiquadFilterNode(ctx, {type: "lowpass"});
    this.volume = new GainNode(ctx);
    this.expression = new GainNode(ctx);
    this.pan = new StereoPannerNode(ctx);
    this.gate = new GainNode(ctx);
    this.send = new GainNode(ctx);
    this.bend = new ConstantSourceNode(ctx);
    for (const name of Object.keys(initial)) {
      const [param, to] = controllers[name](this, this.initial(name));
      param.value = to;
    }
    this.filter.connect(this.volume).connect(this.expression).connect(this.pan).connect(this.gate).connect(out);
    this.gate.connect(this.send).connect(room);
    this.bend.start();
  }

  // retire lets the bus end at a time: what is struck dies away by itself, what is held goes within a moment.
  retire(at) {
    if (this.voice.env.length > 2) this.gate.gain.setTargetAtTime(0, at, 0.008);
    this.bend.stop(at + tail);
    this.bend.addEventListener("ended", () => this.gate.disconnect());
  }

  initial(name) { return name === "91" && this.voice.dry ? 0 : initial[name]; }

  // control sets a controller to a value at a time; null stands for the value before anything sets it.
  control(name, value, at) {
    const [param, to] = controllers[name](this, value ?? this.initial(name));
    param.setValueAtTime(to, at);
  }

  // strike plays a note of a length in seconds at a time.
  strike(at, length, key, velocity, noise) {
    const {ctx, voice} = this;
    const [attack, decay, sustain, release] = voice.env;
    const peak = voice.gain * level(velocity);
    const env = new GainNode(ctx, {gain: 0});
    env.connect(this.filter);
    let end = at + attack + decay;
    env.gain.setValueAtTime(0, at);
    for (let n = 0; n < (voice.bursts ?? 0); n++) {
      env.gain.setValueAtTime(peak * 0.8, at + n * 0.011);
      env.gain.linearRampToValueAtTime(0, at + n * 0.011 + 0.008);
    }
    const from = at + (voice.bursts ?? 0) * 0.011;
    env.gain.linearRampToValueAtTime(peak, from + attack);
    if (sustain === undefined) {
      env.gain.setTargetAtTime(0, from + attack, decay / 4);
      end = from + attack + decay * 1.3;
    } else {
      const off = Math.max(at + length, from + attack);
      env.gain.setTargetAtTime(peak * sustain, from + attack, decay / 3);
      env.gain.setTargetAtTime(0, off, release / 3);
      end = off + release * 1.6;
    }
    const sources = (voice.osc ?? []).map(([type, fixed, detune]) => {
      const pitch = fixed || (voice.base ? voice.pitch * 2 ** ((key - voice.base) / 12) : hertz(key));
      const osc = new OscillatorNode(ctx, {type, frequency: Math.min(pitch, ctx.sampleRate / 2.1), detune});
      if (voice.drop) {
        osc.frequency.setValueAtTime(pitch * voice.drop[0], at);
        osc.frequency.exponentialRampToValueAtTime(pitch, at + voice.drop[1]);
      }
      this.bend.connect(osc.detune);
      osc.connect(env);
      return osc;
    });
    if (voice.noise || voice.click) {
      const source = new AudioBufferSourceNode(ctx, {buffer: noise, loop: true});
      const [type, frequency, gain] = voice.noise ?? ["lowpass", 3000, voice.click];
      source.connect(new BiquadFilterNode(ctx, {type, frequency: Math.min(frequency, ctx.sampleRate / 2.5), Q: 0.7}))
        .connect(new GainNode(ctx, {gain})).connect(env);
      sources.push(source);
    }
    for (const source of sources) {
      source.start(at, source.buffer ? (at * 7) % 0.7 : undefined);
      source.stop(end);
    }
    sources.at(-1)?.addEventListener("ended", () => {
      env.disconnect();
      for (const s of sources) s.disconnect();
    });
  }
}

// noiseOf is a second of noise, the same every time.
function noiseOf(ctx) {
  const buffer = new AudioBuffer({length: ctx.sampleRate, sampleRate: ctx.sampleRate});
  const samples = buffer.getChannelData(0);
  let state = 1;
  for (let i = 0; i < samples.length; i++) {
    state = Math.imul(state, 1664525) + 1013904223 | 0;
    samples[i] = state / 2 ** 31;
  }
  return buffer;
}

// roomOf is the tail of a room: noise that dies away in a second and a half.
function roomOf(ctx, noise) {
  const length = Math.round(ctx.sampleRate * 1.5);
  const buffer = new AudioBuffer({length, numberOfChannels: 2, sampleRate: ctx.sampleRate});
  const from = noise.getChannelData(0);
  for (const channel of [0, 1]) {
    const samples = buffer.getChannelData(channel);
    for (let i = 0; i < length; i++) samples[i] = from[(i * (channel + 1)) % from.length] * (1 - i / length) ** 3 * 0.25;
  }
  return new ConvolverNode(ctx, {buffer, disableNormalization: true});
}

// Desk is every part's bus, the room, and a limiter before the way out.
class Desk {
  constructor(ctx, song, gain) {
    this.ctx = ctx;
    this.noise = noiseOf(ctx);
    this.master = new GainNode(ctx, {gain});
    const limiter = new DynamicsCompressorNode(ctx, {threshold: -9, knee: 3, ratio: 20, attack: 0.002, release: 0.12});
    const mix = new GainNode(ctx, {gain: 0.4});
    // The limiter takes a moment to answer, and what still goes over the top stops at the ceiling.
    const ceiling = new WaveShaperNode(ctx, {curve: [-0.97, 0, 0.97]});
    mix.connect(limiter).connect(ceiling).connect(this.master).connect(ctx.destination);
    const room = roomOf(ctx, this.noise);
    room.connect(mix);
    this.busOf = (part) => new Bus(ctx, part, mix, room);
    this.buses = song.parts.map(this.busOf);
  }

  // close takes the sound away and lets go of everything.
  close() {
    this.master.gain.setTargetAtTime(0, this.ctx.currentTime, 0.01);
    setTimeout(() => {
      this.master.disconnect();
      for (const bus of this.buses) bus.bend.stop();
    }, 80);
  }
}

// Reader goes through the events of a song in order, from any tick on.
class Reader {
  constructor(song) {
    this.parts = song.parts.map((part) => {
      const notes = steps(part.notes, 4, (tick, [length, key, velocity]) => ({tick, length, key, velocity}));
      return {
        notes,
        ticks: notes.map((n) => n.tick),
        silent: part.role === "trigger", // which has no sound of its own
        held: (voices[part.role] ?? voices.unknown).env.length > 2, // it sounds as long as its notes
        moves: Object.entries(part.control ?? {}).map(([name, flat]) => ({name, points: steps(flat, 2, (tick, [value]) => ({tick, value}))})),
      };
    });
  }

  // ringing are the notes of a part that ring into a tick.
  ringing(p, tick) {
    const {notes, ticks, silent, held} = this.parts[p];
    return silent || !held ? [] : notes.slice(0, countUpTo(ticks, tick - 1)).filter((n) => n.tick + n.length > tick);
  }

  // seek sets the reader to a tick, and tells bring which values of controllers are in force there and hold
  // which notes ring into it, as if they started there.
  seek(tick, bring, hold) {
    this.parts.forEach((part, p) => {
      part.next = countUpTo(part.ticks, tick - 1);
      for (const n of this.ringing(p, tick)) hold(p, {...n, tick, length: n.tick + n.length - tick});
      for (const move of part.moves) {
        move.next = move.points.findIndex((c) => c.tick > tick);
        if (move.next < 0) move.next = move.points.length;
        bring(p, move.name, move.points[move.next - 1]?.value ?? null);
      }
    });
  }

  // until tells of everything before a tick that has not been told yet.
  until(tick, note, move) {
    this.parts.forEach((part, p) => {
      for (; part.next < part.notes.length && part.notes[part.next].tick < tick; part.next++) {
        if (!part.silent) note(p, part.notes[part.next]);
      }
      for (const m of part.moves) {
        for (; m.next < m.points.length && m.points[m.next].tick < tick; m.next++) move(p, m.name, m.points[m.next]);
      }
    });
  }
}

// steps reads a flat list of records, each led by the ticks since the one before.
function steps(flat, size, make) {
  const out = [];
  let tick = 0;
  for (let i = 0; i < flat.length; i += size) {
    tick += flat[i];
    out.push(make(tick, flat.slice(i + 1, i + size)));
  }
  return out;
}

// placeIn is where a tick of a song stands in another one: at the same place of the same bar, or at its end.
function placeIn(song, other, tick) {
  const bar = Math.min(Math.max(countUpTo(song.bars, tick), 1), song.bars.length - 1);
  if (bar >= other.bars.length) return other.end;
  const share = (tick - song.bars[bar - 1]) / (song.bars[bar] - song.bars[bar - 1]);
  return Math.round(other.bars[bar - 1] + share * (other.bars[bar] - other.bars[bar - 1]));
}

// Player plays a song: it hands the context what is due within the next moments, by the context's own
// clock, so that nothing drifts however late the page comes to it.
class Player {
  constructor(song) {
    this.song = song;
    this.time = new Time(song.ppq, song.tempi);
    this.reader = new Reader(song);
    this.volume = 0.25;
    this.ahead = 0.2; // seconds for which notes are handed over ahead of time
    this.muted = new Set();
    this.soloed = new Set();
    this.loop = null; // [first tick, end tick]
    this.from = 0; // tick from which it plays next
    this.struck = 0; // notes handed to the context since it played last
    this.next = null; // a song that takes the place of this one, and from which tick of this one on
  }

  get playing() { return Boolean(this.desk); }

  async play(tick = this.from) {
    this.stop();
    const turn = this.turn = {};
    this.ctx ??= new AudioContext({latencyHint: "interactive"});
    await this.ctx.resume();
    if (this.turn !== turn) return; // somebody else has played or stopped since
    this.desk = new Desk(this.ctx, this.song, this.volume);
    this.gates();
    this.struck = 0;
    this.stretches = [];
    this.begin(tick, this.ctx.currentTime + 0.12);
    this.pump();
    this.timer = setInterval(() => this.pump(), 25);
  }

  // begin lets the song go on from a tick at a time of the context. Of parts that are kept, what rings is not struck anew.
  begin(tick, at, kept = []) {
    this.stretches.push({at, second: this.time.of(tick)});
    this.told = tick;
    this.reader.seek(tick, (p, name, value) => this.desk.buses[p].control(name, value, at), (p, n) => { if (!kept[p]) this.strike(p, n); });
  }

  // goOn lets another song take the place of this one, at the same bar and without a gap: at once, or where the next bar
  // begins. done is called when it has.
  goOn(song, atBar, done) {
    const at = this.desk ? this.told : this.from;
    this.next = {song, done, at: this.desk && atBar ? Math.min(this.song.bars.find((b) => b >= at) ?? this.song.end, this.song.end) : at};
    if (this.desk) this.pump();
    else this.take();
  }

  // take puts the next song in this one's place. A part keeps its bus where the same notes ring into that place.
  take() {
    const {song, at: from, done} = this.next;
    const {desk, song: last, time, reader} = this;
    this.next = null;
    const at = desk && this.at(from);
    const to = (tick) => placeIn(last, song, tick);
    const partIn = (p) => song.parts.findIndex((q) => q.name === last.parts[p].name);
    Object.assign(this, {song, time: new Time(song.ppq, song.tempi), reader: new Reader(song), from: to(this.from), loop: this.loop?.map(to) ?? null});
    for (const set of [this.muted, this.soloed]) {
      const parts = [...set].map(partIn).filter((p) => p >= 0);
      set.clear();
      for (const p of parts) set.add(p);
    }
    if (desk) {
      const tick = to(from);
      const rings = (reader, p, tick, time) => reader.ringing(p, tick).map((n) =>
        [n.tick, n.tick + n.length].map((t) => (time.of(t) - time.of(tick)).toFixed(4)).concat(n.key, n.velocity)).join(";");
      const kept = song.parts.map((part, p) => {
        const q = last.parts.findIndex((old, q) => desk.buses[q] && old.name === part.name && old.role === part.role);
        if (q < 0 || rings(reader, q, from, time) !== rings(this.reader, p, tick, this.time)) return null;
        const bus = desk.buses[q];
        desk.buses[q] = null;
        return bus;
      });
      for (const bus of desk.buses) bus?.retire(at);
      desk.buses = kept.map((bus, p) => bus ?? desk.busOf(song.parts[p]));
      desk.buses.forEach((bus, p) => {
        if (!kept[p]) bus.gate.gain.value = this.heard(p) ? 1 : 0;
        else for (const name of Object.keys(initial)) if (!song.parts[p].control?.[name]) bus.control(name, null, at);
      });
      this.stretches = [];
      this.begin(tick, at, kept);
      this.stretches[0].led = true; // what is heard before it is the song before
    }
    done?.();
  }

  // at is the context's time of a tick in the stretch that is told.
  at(tick) {
    const stretch = this.stretches.at(-1);
    return stretch.at + this.time.of(tick) - stretch.second;
  }

  strike(p, n) {
    const at = this.at(n.tick);
    this.desk.buses[p].strike(at, this.at(n.tick + n.length) - at, n.key, n.velocity, this.desk.noise);
  }

  // round is what is looped. What takes no time to speak of is not: it would go round without end.
  get round() {
    return this.loop && this.time.of(this.loop[1]) - this.time.of(this.loop[0]) >= 0.05 ? this.loop : null;
  }

  // pump hands over what is due. A hidden page is woken once a second only.
  pump() {
    const horizon = this.ctx.currentTime + (document.hidden ? 1.6 : this.ahead);
    while (this.desk && this.at(this.told) < horizon) {
      const loop = this.round;
      if (this.next && this.told >= this.next.at) {
        this.take();
        continue;
      }
      const end = Math.min(loop ? loop[1] : this.song.end, this.next?.at ?? Infinity);
      const stretch = this.stretches.at(-1);
      const to = Math.min(Math.floor(this.time.tickAt(horizon - stretch.at + stretch.second)) + 1, Math.max(end, this.told));
      this.reader.until(to, (p, n) => {
        this.struck++;
        this.strike(p, n);
      }, (p, name, c) => this.desk.buses[p].control(name, c.value, this.at(c.tick)));
      this.told = to;
      if (to < end || end === this.next?.at) continue;
      if (!loop) break;
      this.begin(loop[0], this.at(end));
    }
    if (this.desk && !this.round && this.position >= this.song.end) this.stop(0);
  }

  // position is the tick that is heard.
  get position() {
    if (!this.desk) return this.from;
    const now = this.ctx.currentTime;
    const stretch = this.stretches.findLast((s) => s.at <= now) ?? this.stretches[0];
    const since = stretch.led ? now - stretch.at : Math.max(now - stretch.at, 0);
    return Math.max(this.time.tickAt(since + stretch.second), 0);
  }

  stop(tick = this.position) {
    this.turn = null;
    if (!this.desk) return;
    this.from = tick;
    clearInterval(this.timer);
    this.desk.close();
    this.desk = null;
    if (this.next) this.take();
  }

  setVolume(volume) {
    this.volume = volume;
    if (this.desk) this.desk.master.gain.setTargetAtTime(volume, this.ctx.currentTime, 0.02);
  }

  // gates lets through the parts that are to be heard: the soloed ones if there are any, else the unmuted.
  gates() {
    if (this.desk) this.open(this.desk, (gain, to) => gain.setTargetAtTime(to, this.ctx.currentTime, 0.005));
  }

  open(desk, set) { desk.buses.forEach((bus, p) => set(bus.gate.gain, this.heard(p) ? 1 : 0)); }

  heard(p) { return this.soloed.size ? this.soloed.has(p) : !this.muted.has(p); }

  // render plays bars, counted from 1, as fast as it goes, at full volume, and returns the sound.
  async render(bar, bars, rate = 22050) {
    const {song, time} = this;
    const [start, end] = [song.bars[bar - 1], song.bars[bar - 1 + bars]];
    const from = time.of(start);
    const ctx = new OfflineAudioContext(2, Math.ceil((time.of(end) - from) * rate), rate);
    const desk = new Desk(ctx, song, 1);
    this.open(desk, (gain, to) => { gain.value = to; });
    const reader = new Reader(song);
    const strike = (p, n) => {
      const at = time.of(n.tick) - from;
      desk.buses[p].strike(at, time.of(n.tick + n.length) - from - at, n.key, n.velocity, desk.noise);
    };
    reader.seek(start, (p, name, value) => desk.buses[p].control(name, value, 0), strike);
    reader.until(end, strike, (p, name, c) => desk.buses[p].control(name, c.value, time.of(c.tick) - from));
    return ctx.startRendering();
  }
}

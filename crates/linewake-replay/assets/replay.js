// Draws a finished run: bands of states over time, and above them the line with every portion and pack where it stands.
//
// It holds no physics and no figure of its own: `placesAt` is the rule of place.rs, and a test holds the two against each
// other. Times: `_us` whole microseconds since the start of the run, `_s` seconds.

const FORM = 1;
const US = 1e6;
const STATES = ['running', 'starved', 'blocked', 'waiting for an operator', 'stopped', 'planned stop', 'not known'];
const SPEEDS = [0.25, 1, 5, 20, 60];
const SHORTEST_VIEW_US = 5 * US;

// ---------------------------------------------------------------- the rule of places (place.rs)

// How many of a sorted list lie at or before t; `of` gives the time of an entry.
function countUpTo(list, t, of) {
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (of(list[middle]) <= t) low = middle + 1;
    else high = middle;
  }
  return low;
}

const firstOf = (entry) => entry[0];

function clockAt(motion, t) {
  const after = countUpTo(motion, t, firstOf);
  if (after === 0) return motion.length ? motion[0][1] : 0;
  const [at, clock, runs] = motion[after - 1];
  return runs ? clock + (t - at) : clock;
}

function advancesAt(replay, t) {
  const web = replay.web;
  if (!web) return 0;
  const done = countUpTo(web.advances, t, firstOf);
  const whole = web.advances_before + done;
  if (done >= web.advances.length || web.advance_us === 0) return whole;
  const left = web.advances[done][1] - clockAt(replay.stations[web.station].motion, t);
  return whole + Math.min(Math.max(1 - left / web.advance_us, 0), 1);
}

function visitAt(item, t) {
  if (item.gone && item.gone.at_us <= t) return null;
  for (let place = item.visits.length - 1; place >= 0; place -= 1) {
    if (item.visits[place][1] <= t) return item.visits[place];
  }
  return null;
}

function pocketOf(web, number) {
  const rows = Math.max(web.rows_per_index, 1);
  const pockets = Math.max(web.lanes, 1) * rows;
  const place = number % pockets;
  return { frame: Math.floor(number / pockets), lane: Math.floor(place / rows), row: place % rows };
}

const clamped = (share) => Math.min(Math.max(share, 0), 1);

function spotOf(replay, item, station, clock, before, there, advanced, t) {
  const { layout, motion } = replay.stations[station];
  const travelled = () => (layout.transit_us === 0 ? 1 : (clockAt(motion, t) - clock) / layout.transit_us);
  switch (layout.as) {
    case 'queue': {
      const ahead = layout.last_in_first_out ? there - 1 - before : before;
      return { spot: 'along', along: clamped(Math.min(travelled(), 1 - ahead / Math.max(layout.places, 1))) };
    }
    case 'rigid':
      return { spot: 'along', along: clamped(travelled()) };
    case 'array': {
      const rows = Math.max(layout.rows, 1);
      const lanes = Math.max(layout.lanes, 1);
      const file = Math.floor(before / rows);
      return {
        spot: 'array',
        lane: file % lanes,
        row: before % rows,
        complete: file < lanes && (file + 1) * rows <= there,
      };
    }
    case 'web': {
      if (!replay.web) return { spot: 'inside' };
      const { frame, lane, row } = pocketOf(replay.web, item.number);
      return { spot: 'web', position: replay.web.cut - frame + advanced, lane, row };
    }
    case 'pick_zone': {
      if (!replay.web) return { spot: 'inside' };
      const { lane, row } = pocketOf(replay.web, item.number);
      if (item.picked_us !== null && item.picked_us <= t) return { spot: 'gripper', lane, row };
      return { spot: 'web', position: replay.web.cut + 1, lane, row };
    }
    case 'lane':
      return { spot: 'lane', before };
    default:
      return { spot: 'inside' };
  }
}

/** Where every item of the replay stands at `t_us`, in the order of `replay.items`. */
export function placesAt(replay, t_us) {
  const present = [];
  const queues = replay.stations.map(() => []);
  replay.items.forEach((item, number) => {
    const visit = visitAt(item, t_us);
    if (!visit) return;
    present.push({ item: number, station: visit[0], at: visit[1], clock: visit[2], before: 0 });
    queues[visit[0]].push(present[present.length - 1]);
  });
  for (const queue of queues) {
    queue.sort((one, other) => one.at - other.at || one.item - other.item);
    queue.forEach((entry, before) => { entry.before = before; });
  }
  const advanced = advancesAt(replay, t_us);
  return present.map(({ item, station, clock, before }) => ({
    item,
    station,
    ...spotOf(replay, replay.items[item], station, clock, before, queues[station].length, advanced, t_us),
  }));
}

// ---------------------------------------------------------------- words

const two = (number) => String(number).padStart(2, '0');

/** Time since the start of the run: "1 h 20 min 05.0 s". */
export function timeWords(t_us) {
  const tenths = Math.round(t_us / 1e5);
  const [s, min, h] = [(tenths % 600) / 10, Math.floor(tenths / 600) % 60, Math.floor(tenths / 36000)];
  return `${h} h ${two(min)} min ${s.toFixed(1).padStart(4, '0')} s`;
}

function tickWords(t_us, step_us) {
  const s = Math.round(t_us / US);
  const clock = `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}`;
  return step_us < 60 * US ? `${clock}:${two(s % 60)}` : clock;
}

const segmentAt = (segments, t) => {
  const place = countUpTo(segments, t, firstOf) - 1;
  return place >= 0 && t < segments[place][1] ? segments[place] : null;
};

/** State and reason of a station at `t_us`: exact within the window, else as its band shows. */
export function stateAt(replay, station, t_us) {
  const { segments, overview } = replay.stations[station];
  const exact = t_us >= replay.window_start_us && t_us < replay.window_end_us;
  const found = segmentAt(exact && segments.length ? segments : overview, t_us);
  return found ? { state: found[2], reason: replay.reasons[found[3]] ?? '', exact } : null;
}

/** Content of a belt, table or lane at `t_us`, with and without the injected stops; `null` where it is not known. */
export function contentAt(replay, station, t_us) {
  const content = replay.stations[station].content;
  if (!content) return null;
  if (t_us >= replay.window_start_us && t_us <= replay.window_end_us) {
    const at = (steps) => {
      const place = countUpTo(steps, t_us, firstOf) - 1;
      return place >= 0 ? steps[place][1] : null;
    };
    return { pieces: at(content.steps), without: at(content.steps_without), exact: true };
  }
  const cell = segmentAt(content.overview, t_us);
  return cell ? { lowest: cell[2], highest: cell[3], exact: false } : null;
}

const inWake = (replay, station, t) =>
  replay.wake.some((mark) => mark.station === station && mark.start_us <= t && t < mark.end_us);

function stateWords(found) {
  if (!found) return 'no state';
  return found.reason ? `${STATES[found.state]}: ${found.reason}` : STATES[found.state];
}

function contentWords(content, capacity) {
  if (!content) return '';
  const of = capacity === null ? '' : ` of ${capacity}`;
  if (!content.exact) return `${content.lowest} to ${content.highest}${of}`;
  return content.pieces === null ? '' : `${content.pieces}${of}`;
}

// ---------------------------------------------------------------- small DOM

function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value !== null && value !== undefined) element.setAttribute(key, value);
  }
  element.append(...children);
  return element;
}

function canvasIn(parent, name) {
  const canvas = make('canvas', { class: name, 'aria-hidden': 'true' });
  parent.append(canvas);
  return canvas;
}

// Sizes a canvas for the screen and gives its context in CSS pixels.
function contextOf(canvas, width, height) {
  const ratio = window.devicePixelRatio || 1;
  const [w, h] = [Math.max(1, Math.round(width * ratio)), Math.max(1, Math.round(height * ratio))];
  if (canvas.width !== w || canvas.height !== h) {
    canvas.width = w;
    canvas.height = h;
    canvas.style.width = `${width}px`;
    canvas.style.height = `${height}px`;
  }
  const context = canvas.getContext('2d');
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.clearRect(0, 0, width, height);
  return context;
}

// Colours come from the style sheet.
function coloursOf(element) {
  const style = getComputedStyle(element);
  const colour = (name) => style.getPropertyValue(`--replay-${name}`).trim() || '#333333';
  const names = ['text', 'quiet', 'grid', 'line', 'paper', 'wake', 'wake-line', 'starved', 'blocked', 'stop', 'planned',
    'content', 'content-line', 'product', 'product-line', 'tag', 'pocket'];
  const colours = Object.fromEntries(names.map((name) => [name, colour(name)]));
  colours.font = style.fontFamily;
  return colours;
}

function hatch(context, colour) {
  const tile = document.createElement('canvas');
  tile.width = 6;
  tile.height = 6;
  const pen = tile.getContext('2d');
  pen.strokeStyle = colour;
  pen.lineWidth = 1.6;
  pen.beginPath();
  for (const shift of [-6, 0, 6]) {
    pen.moveTo(shift, 6);
    pen.lineTo(shift + 6, 0);
  }
  pen.stroke();
  return context.createPattern(tile, 'repeat');
}

// ---------------------------------------------------------------- bands

const STRIP = 18;
const AREA = 34;
const AXIS = 30;

function bandRows(replay, narrow) {
  const rows = [];
  let top = 4;
  replay.stations.forEach((station, index) => {
    const label = narrow ? 18 : 0;
    if (station.has_states) {
      rows.push({ index, kind: 'band', label: top, top: top + label, height: STRIP });
      top += label + STRIP + 8;
    }
    if (station.content) {
      rows.push({ index, kind: 'content', label: top, top: top + label, height: AREA });
      top += label + AREA + 8;
    }
  });
  return { rows, height: top + AXIS, axis: top };
}

class Bands {
  constructor(parent, replay, colours) {
    this.replay = replay;
    this.colours = colours;
    this.still = canvasIn(parent, 'replay-still');
    this.over = canvasIn(parent, 'replay-over');
    this.parent = parent;
    this.view = [replay.start_us, replay.end_us];
  }

  layOut(width) {
    this.width = width;
    this.narrow = width < 620;
    const layout = bandRows(this.replay, this.narrow);
    Object.assign(this, layout);
    this.left = this.narrow ? 8 : 156;
    this.right = width - 12;
    this.parent.style.height = `${this.height}px`;
  }

  x(t) {
    const [from, to] = this.view;
    return this.left + ((t - from) / (to - from)) * (this.right - this.left);
  }

  time(x) {
    const [from, to] = this.view;
    return from + ((x - this.left) / (this.right - this.left)) * (to - from);
  }

  rowAt(y) {
    return this.rows.find((row) => y >= row.label && y < row.top + row.height + 6) ?? null;
  }

  draw() {
    const pen = contextOf(this.still, this.width, this.height);
    const { colours: c, replay } = this;
    pen.font = `12px ${c.font}`;
    pen.textBaseline = 'middle';
    this.drawTicks(pen);
    pen.save();
    pen.beginPath();
    pen.rect(this.left, 0, this.right - this.left, this.axis);
    pen.clip();
    for (const mark of replay.wake) this.drawWake(pen, mark, 1);
    this.drawTravel(pen);
    for (const row of this.rows) {
      if (row.kind === 'band') this.drawBand(pen, row);
      else this.drawContent(pen, row);
    }
    pen.restore();
    for (const row of this.rows) {
      const station = replay.stations[row.index];
      pen.fillStyle = row.kind === 'band' ? c.text : c.quiet;
      const words = row.kind === 'band' ? station.id : contentLabel(station);
      if (this.narrow) {
        pen.textAlign = 'left';
        pen.fillText(words, this.left, row.label + 7);
      } else {
        pen.textAlign = 'right';
        pen.fillText(words, this.left - 10, row.top + row.height / 2, this.left - 14);
      }
    }
  }

  drawTicks(pen) {
    const { colours: c } = this;
    const [from, to] = this.view;
    const steps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 36000, 86400].map((s) => s * US);
    const room = (this.right - this.left) / 78;
    const step = steps.find((it) => (to - from) / it <= room) ?? steps[steps.length - 1];
    pen.textAlign = 'center';
    for (let t = Math.ceil(from / step) * step; t <= to; t += step) {
      const x = this.x(t);
      pen.fillStyle = c.grid;
      pen.fillRect(Math.round(x), 0, 1, this.axis);
      pen.fillStyle = c.line;
      pen.fillRect(Math.round(x), this.axis, 1, 5);
      pen.fillStyle = c.quiet;
      if (x > this.left + 12 && x < this.right - 16) pen.fillText(tickWords(t, step), x, this.axis + 15);
    }
    pen.fillStyle = c.line;
    pen.fillRect(this.left, this.axis, this.right - this.left, 1.5);
    // Where every pack is known.
    const [a, b] = [this.replay.window_start_us, this.replay.window_end_us].map((t) =>
      Math.min(Math.max(this.x(t), this.left), this.right));
    if (b > a) pen.fillRect(a, this.axis, b - a, 4);
  }

  drawWake(pen, mark, strength) {
    const row = this.rows.find((it) => it.index === mark.station && it.kind === 'band');
    if (!row) return;
    const [a, b] = [this.x(mark.start_us), this.x(mark.end_us)];
    if (b < this.left || a > this.right) return;
    pen.fillStyle = this.colours.wake;
    pen.globalAlpha = strength;
    pen.fillRect(a, row.top - 3, Math.max(b - a, 1), row.height + 6);
    pen.globalAlpha = 1;
    pen.fillStyle = this.colours['wake-line'];
    pen.fillRect(a, row.top + row.height + 2, Math.max(b - a, 1), 1.5);
  }

  // From each stop to the first wait of each station that it reached, in the order in which they lie.
  drawTravel(pen) {
    const { replay } = this;
    const stop = replay.injected[0];
    if (!stop) return;
    const first = new Map();
    for (const mark of replay.wake) {
      if (!first.has(mark.station)) first.set(mark.station, mark.start_us);
    }
    const middle = (station) => {
      const row = this.rows.find((it) => it.index === station && it.kind === 'band');
      return row ? row.top + row.height / 2 : null;
    };
    pen.strokeStyle = this.colours['wake-line'];
    pen.lineWidth = 1.5;
    pen.setLineDash([4, 3]);
    for (const direction of [-1, 1]) {
      const way = [];
      for (let index = stop.station + direction; index >= 0 && index < replay.stations.length; index += direction) {
        if (first.has(index) && middle(index) !== null) way.push([first.get(index), middle(index)]);
      }
      // What was reached only after a station beyond it lies beside the way.
      const ahead = way.filter(([at], place) => at >= stop.start_us && way.slice(place + 1).every(([later]) => later >= at));
      pen.beginPath();
      pen.moveTo(this.x(stop.start_us), middle(stop.station));
      for (const [at, y] of ahead) pen.lineTo(this.x(at), y);
      pen.stroke();
    }
    pen.setLineDash([]);
  }

  drawBand(pen, row) {
    const { colours: c, replay } = this;
    const station = replay.stations[row.index];
    pen.fillStyle = c.line;
    pen.fillRect(this.left, row.top + row.height / 2 - 0.5, this.right - this.left, 1);
    const [a, b] = [replay.window_start_us, replay.window_end_us];
    const draw = (segments, from, to) => {
      const [low, high] = [Math.max(from, this.view[0]), Math.min(to, this.view[1])];
      if (high <= low) return;
      for (let place = Math.max(0, countUpTo(segments, low, firstOf) - 1); place < segments.length; place += 1) {
        const [start, end, state] = segments[place];
        if (start >= high) break;
        if (end <= low || state === 0) continue;
        this.drawState(pen, row, this.x(Math.max(start, low)), this.x(Math.min(end, high)), state);
      }
    };
    if (station.segments.length) {
      draw(station.overview, this.view[0], a);
      draw(station.segments, a, b);
      draw(station.overview, b, this.view[1]);
    } else {
      draw(station.overview, this.view[0], this.view[1]);
    }
  }

  drawState(pen, row, x0, x1, state) {
    const { colours: c } = this;
    const half = row.height / 2;
    if (state === 1 || state === 2) {
      pen.fillStyle = state === 1 ? c.starved : c.blocked;
      pen.fillRect(x0, state === 1 ? row.top : row.top + half, x1 - x0, half);
      return;
    }
    const width = Math.max(x1 - x0, 1.2);
    if (state === 3) {
      pen.fillStyle = c.paper;
      pen.fillRect(x0, row.top, width, row.height);
      pen.fillStyle = hatch(pen, c.stop);
      pen.fillRect(x0, row.top, width, row.height);
      pen.strokeStyle = c.stop;
      pen.lineWidth = 1;
      if (width > 2) pen.strokeRect(x0 + 0.5, row.top + 0.5, width - 1, row.height - 1);
      return;
    }
    pen.fillStyle = state === 4 ? c.stop : state === 5 ? c.planned : c.grid;
    pen.fillRect(x0, row.top, width, row.height);
  }

  drawContent(pen, row) {
    const { colours: c, replay } = this;
    const content = replay.stations[row.index].content;
    const most = content.capacity_pieces ?? Math.max(1, ...content.steps.map((step) => step[1]),
      ...content.overview.map((cell) => cell[3]));
    const bottom = row.top + row.height;
    const y = (pieces) => bottom - (pieces / most) * row.height;
    pen.fillStyle = c.grid;
    pen.fillRect(this.left, row.top, this.right - this.left, 1);
    const [a, b] = [replay.window_start_us, replay.window_end_us];
    pen.fillStyle = c.content;
    for (const [start, end, lowest, highest] of content.overview) {
      for (const [from, to] of [[start, Math.min(end, a)], [Math.max(start, b), end]]) {
        if (to <= from || to < this.view[0] || from > this.view[1]) continue;
        pen.fillRect(this.x(from), y(highest), this.x(to) - this.x(from) + 0.6, bottom - y(highest));
      }
    }
    this.stepPath(pen, content.steps, a, b, y);
    pen.lineTo(this.x(b), bottom);
    pen.lineTo(this.x(a), bottom);
    pen.closePath();
    pen.fill();
    this.stepPath(pen, content.steps, a, b, y);
    pen.strokeStyle = c['content-line'];
    pen.lineWidth = 1.2;
    pen.stroke();
    if (content.steps_without.length) {
      this.stepPath(pen, content.steps_without, a, b, y);
      pen.setLineDash([3, 3]);
      pen.strokeStyle = c.text;
      pen.stroke();
      pen.setLineDash([]);
    }
    pen.fillStyle = c.line;
    pen.fillRect(this.left, bottom, this.right - this.left, 1);
  }

  stepPath(pen, steps, a, b, y) {
    pen.beginPath();
    const [low, high] = [Math.max(a, this.view[0]), Math.min(b, this.view[1])];
    let place = Math.max(0, countUpTo(steps, low, firstOf) - 1);
    if (high <= low || place >= steps.length) return;
    let level = y(steps[place][1]);
    pen.moveTo(this.x(Math.max(steps[place][0], a)), level);
    for (place += 1; place < steps.length && steps[place][0] < high; place += 1) {
      const x = this.x(steps[place][0]);
      pen.lineTo(x, level);
      level = y(steps[place][1]);
      pen.lineTo(x, level);
    }
    pen.lineTo(this.x(b), level);
  }

  // The cursor, the wake up to it, and the station that is chosen.
  drawOver(t, chosen) {
    const pen = contextOf(this.over, this.width, this.height);
    const { colours: c } = this;
    pen.save();
    pen.beginPath();
    pen.rect(this.left - 8, 0, this.right - this.left + 16, this.height);
    pen.clip();
    for (const mark of this.replay.wake) {
      if (mark.start_us >= t) continue;
      const row = this.rows.find((it) => it.index === mark.station && it.kind === 'band');
      if (!row) continue;
      const [a, b] = [this.x(mark.start_us), this.x(Math.min(mark.end_us, t))];
      pen.fillStyle = c.text;
      pen.fillRect(a, row.top + row.height + 1.5, Math.max(b - a, 1), 2.5);
    }
    const x = this.x(t);
    pen.fillStyle = c.text;
    pen.fillRect(x - 0.75, 0, 1.5, this.axis);
    pen.beginPath();
    pen.moveTo(x, this.axis - 1);
    pen.lineTo(x - 7, this.axis + 10);
    pen.lineTo(x + 7, this.axis + 10);
    pen.closePath();
    pen.fill();
    pen.restore();
    const row = chosen === null ? null : this.rows.find((it) => it.index === chosen && it.kind === 'band');
    if (row) {
      pen.strokeStyle = c.text;
      pen.lineWidth = 1.5;
      pen.strokeRect(this.left - 2, row.top - 3, this.right - this.left + 4, row.height + 6);
    }
  }
}

function contentLabel(station) {
  const capacity = station.content.capacity_pieces;
  const what = station.layout.as === 'lane' ? 'its lane' : station.has_states ? 'content' : station.id;
  return capacity === null ? `${what}, pieces` : `${what}, of ${capacity}`;
}

// ---------------------------------------------------------------- the line

const LABELS = 34;

// Cells that a station is wide, and lanes that it is high.
function extent(replay, index) {
  const { layout } = replay.stations[index];
  const web = replay.web;
  const lanes = web ? web.lanes : 1;
  switch (layout.as) {
    case 'queue': return { cells: Math.min(Math.max(layout.places, 3), 14), lanes: 1 };
    case 'rigid': return { cells: Math.min(Math.max(layout.places, 4), 12), lanes: 1 };
    case 'array': return { cells: layout.rows, lanes: layout.lanes + 1.3 };
    case 'web': return { cells: (web.cut + 1) * web.rows_per_index, lanes };
    case 'pick_zone': return { cells: (web ? web.rows_per_index : 1) * 2 + 0.6, lanes };
    case 'lane': return { cells: Math.min(Math.max(layout.places + layout.packs_per_case, 4), 14), lanes: 1 };
    default: return { cells: 1.6, lanes: 1 };
  }
}

class Line {
  constructor(parent, replay, colours) {
    this.replay = replay;
    this.colours = colours;
    this.canvas = canvasIn(parent, 'replay-picture');
    this.parent = parent;
  }

  layOut(width) {
    const { replay } = this;
    this.width = width;
    const pen = this.canvas.getContext('2d');
    pen.font = `11px ${this.colours.font}`;
    const extents = replay.stations.map((_, index) => extent(replay, index));
    const widest = replay.web ? (replay.web.cut + 1) * replay.web.rows_per_index
      + replay.web.rows_per_index * 2 + 0.6 : 10;
    const cell = Math.max(4, Math.min(14, (width - 24) / widest));
    this.cell = cell;
    this.boxes = [];
    let [x, y, high] = [8, 0, 0];
    let row = [];
    const closeRow = () => {
      const lanes = Math.max(1, ...row.map((box) => box.lanes));
      for (const box of row) {
        box.top = y + 20 + ((lanes - box.lanes) * cell) / 2;
        box.bottom = y + 20 + lanes * cell + 6;
      }
      y += 20 + lanes * cell + 6 + LABELS;
      high = y;
      row = [];
      x = 8;
    };
    replay.stations.forEach((station, index) => {
      const { cells, lanes } = extents[index];
      const joined = station.layout.as === 'pick_zone';
      const inner = cells * cell;
      const label = pen.measureText(station.id).width + 8;
      const room = joined ? inner : Math.max(inner, label);
      // Web and pick zone stay together.
      const needs = station.layout.as === 'web' ? room + extents[index + 1].cells * cell : room;
      if (!joined && row.length && x + needs > width - 8) closeRow();
      const left = joined ? x - 12 : x;
      const box = { index, x: left + (room - inner) / 2, width: inner, left, room, lanes };
      row.push(box);
      this.boxes[index] = box;
      x = left + Math.max(room, joined ? label : 0) + 12;
    });
    if (row.length) closeRow();
    this.height = high + 4;
  }

  draw(t) {
    const { replay, colours: c } = this;
    const pen = contextOf(this.canvas, this.width, this.height);
    pen.font = `11px ${c.font}`;
    pen.textBaseline = 'alphabetic';
    for (const box of this.boxes) this.drawStation(pen, box, t);
    if (t < replay.window_start_us || t > replay.window_end_us) {
      pen.fillStyle = c.quiet;
      pen.textAlign = 'left';
      pen.font = `12px ${c.font}`;
      pen.fillText('Portions and packs are shown near the stop only.', 8, 13);
      return;
    }
    this.drawWeb(pen, t);
    for (const place of placesAt(replay, t)) this.drawItem(pen, place, t);
    for (const item of replay.items) {
      if (item.gone && item.gone.how === 'rejected' && item.gone.at_us <= t && t < item.gone.at_us + 2 * US) {
        this.drawDropped(pen, item);
      }
    }
  }

  drawStation(pen, box, t) {
    const { replay, colours: c } = this;
    const station = replay.stations[box.index];
    const found = stateAt(replay, box.index, t);
    if (inWake(replay, box.index, t)) {
      pen.fillStyle = c.wake;
      pen.fillRect(box.left - 3, box.top - 14, box.room + 6, box.bottom - box.top + LABELS + 8);
    }
    // The track under the pieces, and the strip of the state: placed as in the bands.
    const strip = box.bottom;
    pen.fillStyle = c.grid;
    if (['queue', 'rigid', 'lane'].includes(station.layout.as)) {
      pen.fillRect(box.x, box.top - 1, box.width, this.cell + 2);
    } else if (!['web', 'pick_zone', 'hopper'].includes(station.layout.as)) {
      pen.strokeStyle = c.pocket;
      pen.lineWidth = 1;
      pen.strokeRect(box.x - 0.5, box.top - 2.5, box.width + 1, box.lanes * this.cell + 5);
    }
    if (station.has_states) {
      pen.fillStyle = c.line;
      pen.fillRect(box.left, strip + 4.5, box.room, 1);
      if (found && found.state !== 0) {
        const state = found.state;
        pen.fillStyle = [c.line, c.starved, c.blocked, c.stop, c.stop, c.planned, c.grid][state];
        if (state === 1) pen.fillRect(box.left, strip, box.room, 5);
        else if (state === 2) pen.fillRect(box.left, strip + 5, box.room, 5);
        else pen.fillRect(box.left, strip, box.room, 10);
      }
    }
    pen.textAlign = 'left';
    pen.fillStyle = c.text;
    pen.fillText(station.id, box.left, strip + 21);
    pen.fillStyle = c.quiet;
    const content = contentAt(replay, box.index, t);
    const words = !station.has_states
      ? contentWords(content, station.content?.capacity_pieces ?? null)
      : found ? STATES[found.state] : '';
    if (words) pen.fillText(words, box.left, strip + 33, Math.max(box.room + 8, 40));
  }

  webX(position, row) {
    const { web } = this.replay;
    const box = this.boxes[web.station];
    return box.x + (position * web.rows_per_index + (web.rows_per_index - 1 - row)) * this.cell;
  }

  laneY(lane) {
    return this.boxes[this.replay.web.station].top + lane * this.cell;
  }

  // The pockets of the web, and where along it what is done.
  drawWeb(pen, t) {
    const { replay, colours: c, cell } = this;
    const { web } = replay;
    if (!web) return;
    const advanced = advancesAt(replay, t);
    const part = advanced - Math.floor(advanced);
    pen.strokeStyle = c.pocket;
    pen.lineWidth = 1;
    for (let position = 0; position <= web.cut; position += 1) {
      for (let row = 0; row < web.rows_per_index; row += 1) {
        for (let lane = 0; lane < web.lanes; lane += 1) {
          pen.strokeRect(this.webX(position + part, row) + 1, this.laneY(lane) + 1, cell - 2, cell - 2);
        }
      }
    }
    const top = this.laneY(0);
    const marks = [[web.load_at - web.load_length + 1, web.load_length, 'load'], [web.seal, 1, 'seal'],
      [web.print_inspection, 1, 'print check'], [web.label, 1, 'label'], [web.cut, 1, 'cut'], [web.cut + 1, 1, 'pick']];
    pen.textAlign = 'center';
    pen.fillStyle = c.quiet;
    let free = -Infinity;
    for (const [position, length, words] of marks) {
      if (position === null || position === undefined) continue;
      const [a, b] = [this.webX(position, web.rows_per_index - 1), this.webX(position + length, web.rows_per_index - 1)];
      pen.fillRect(a + 1, top - 4, b - a - 2, 1);
      const half = pen.measureText(words).width / 2;
      const middle = Math.max((a + b) / 2, free + half + 4);
      if (middle + half < this.width && middle - (a + b) / 2 < half + 8) {
        pen.fillText(words, middle, top - 7);
        free = middle + half;
      }
    }
  }

  drawItem(pen, place, t) {
    const { replay, cell } = this;
    const item = replay.items[place.item];
    const box = this.boxes[place.station];
    const { layout } = replay.stations[place.station];
    const tagged = item.tagged !== null && item.tagged[0] <= t;
    const draw = (x, y, width = cell) => this.drawPiece(pen, item.kind, x, y, width, tagged);
    switch (place.spot) {
      case 'along': {
        const wide = Math.max(2, Math.min(cell, (box.width / Math.max(layout.places, 1)) * 1.0));
        return draw(box.x + place.along * (box.width - wide), box.top, wide);
      }
      case 'array': {
        const x = box.x + (layout.rows - 1 - place.row) * cell;
        return draw(x, box.top + (place.complete ? place.lane : layout.lanes + 0.3) * cell);
      }
      case 'web':
        return draw(this.webX(place.position, place.row), this.laneY(place.lane));
      case 'gripper':
        return draw(this.webX(replay.web.cut + 2, place.row) + 0.4 * cell, this.laneY(place.lane) - 2);
      case 'lane': {
        const wide = Math.min(cell, box.width / (layout.places + layout.packs_per_case));
        return draw(box.x + box.width - (place.before + 1) * wide, box.top, wide);
      }
      default:
        return draw(box.x + (box.width - cell) / 2, box.top);
    }
  }

  // A portion is round, a pack is a filled pocket; a tagged one is empty inside, with a cross.
  drawPiece(pen, kind, x, y, width, tagged) {
    const { colours: c, cell } = this;
    pen.fillStyle = tagged ? c.paper : c.product;
    pen.strokeStyle = tagged ? c.tag : c['product-line'];
    pen.lineWidth = tagged ? 1.8 : 1;
    pen.beginPath();
    const [w, h] = [Math.max(width - 3, 1.5), cell - 3];
    if (kind === 'portion' && width > 4) {
      pen.ellipse(x + width / 2, y + cell / 2, w / 2.2, h / 2.2, 0, 0, 2 * Math.PI);
    } else if (width > 5) {
      pen.roundRect(x + 1.5, y + 1.5, w, h, 2);
    } else {
      pen.rect(x + 0.5, y + 1.5, Math.max(width - 1, 1), h);
    }
    pen.fill();
    if (width > 3) pen.stroke();
    if (tagged) {
      pen.beginPath();
      pen.moveTo(x + 2.5, y + 2.5);
      pen.lineTo(x + width - 2.5, y + cell - 2.5);
      pen.moveTo(x + width - 2.5, y + 2.5);
      pen.lineTo(x + 2.5, y + cell - 2.5);
      pen.stroke();
    }
  }

  // For two seconds below the place where it dropped into the bin.
  drawDropped(pen, item) {
    const { replay, cell } = this;
    const [station] = item.visits[item.visits.length - 1];
    const box = this.boxes[station];
    const offset = replay.web ? pocketOf(replay.web, item.number) : { lane: 0, row: 0 };
    const wide = Math.min(cell, 9);
    this.drawPiece(pen, 'pack', box.x + box.width - wide * (1 + offset.row), box.bottom - cell + 2, wide, true);
  }
}

// ---------------------------------------------------------------- what the marks mean

function drawLegend(list, replay, colours) {
  const painter = new Bands(document.createElement('div'), replay, colours);
  const row = { top: 1, height: STRIP };
  const line = new Line(document.createElement('div'), replay, colours);
  line.cell = 14;
  const state = (number) => (pen) => {
    pen.fillStyle = colours.line;
    pen.fillRect(0, 1 + STRIP / 2 - 0.5, 20, 1);
    if (number > 0) painter.drawState(pen, row, 3, 17, number);
  };
  const shaded = (pen) => {
    pen.fillStyle = colours.wake;
    pen.fillRect(0, 0, 20, 20);
    pen.fillStyle = colours['wake-line'];
    pen.fillRect(0, 18, 20, 1.5);
  };
  const piece = (kind, tagged) => (pen) => line.drawPiece(pen, kind, 3, 3, 14, tagged);
  const entries = [
    [state(0), 'running'], [state(1), 'starved'], [state(2), 'blocked'], [state(3), 'waits for an operator'],
    [state(4), 'stopped'], [state(5), 'planned stop'],
    ...(replay.wake.length ? [[shaded, 'the wake']] : []),
    ...(replay.web ? [[piece('portion', false), 'portion']] : []),
    [piece('pack', false), replay.web ? 'pack' : 'piece'],
    ...(replay.web ? [[piece('pack', true), 'tagged pack']] : []),
  ];
  for (const [draw, words] of entries) {
    const entry = make('li');
    draw(contextOf(canvasIn(entry, 'replay-sample'), 20, 20));
    entry.append(words);
    list.append(entry);
  }
}

// ---------------------------------------------------------------- everything together

/**
 * Draws the replay into the element.
 *
 * options: `onPickStop(stationIndex, time_s)` is called when a place on the bands is chosen, by a click or with Enter;
 * `readOnly`: true when nothing can be chosen (the default without `onPickStop`).
 * Gives `{ seek(t_s), play(), pause(), destroy() }`; `t_s` is seconds since the start of the run.
 */
export function mount(element, replay, options = {}) {
  if (replay.form !== FORM) throw new Error(`replay of form ${replay.form}; this script draws form ${FORM}`);
  const { onPickStop = null, readOnly = !options.onPickStop } = options;
  const picks = !readOnly && onPickStop !== null;
  const undo = [];
  const on = (target, kind, what, how) => {
    target.addEventListener(kind, what, how);
    undo.push(() => target.removeEventListener(kind, what, how));
  };

  const colours = coloursOf(element);
  const root = make('div', { class: 'replay' });
  const picture = make('div', { class: 'replay-line', role: 'img' });
  const button = (words, label) => make('button', { type: 'button', 'aria-label': label ?? null }, words);
  const back = button('◂ step', 'One step back');
  const playing = button('Play');
  const ahead = button('step ▸', 'One step on');
  const speed = make('select', { 'aria-label': 'Speed' });
  for (const value of SPEEDS) speed.append(make('option', { value }, `${value} × speed`));
  const closer = button('+', 'Zoom in');
  const wider = button('−', 'Zoom out');
  const whole = button('Whole run');
  const near = button(replay.injected.length ? 'The stop' : 'Shown packs');
  const clock = make('span', { class: 'replay-clock' });
  const controls = make('div', { class: 'replay-controls', role: 'group', 'aria-label': 'Play and zoom' },
    back, playing, ahead, speed, clock, wider, closer, near, whole);
  const bands = make('div', {
    class: 'replay-bands',
    role: 'slider',
    tabindex: '0',
    'aria-label': 'Time in the run',
    'aria-valuemin': String(replay.start_us / US),
    'aria-valuemax': String(replay.end_us / US),
  });
  const values = make('table', { class: 'replay-values' });
  const body = make('tbody');
  values.append(
    make('caption', {}, 'At the cursor'),
    make('thead', {}, make('tr', {},
      make('th', { scope: 'col' }, 'Station'), make('th', { scope: 'col' }, 'State'),
      make('th', { scope: 'col' }, 'Content, pieces'), make('th', { scope: 'col' }, 'Without the stop'))),
    body,
  );
  const cells = replay.stations.map((station) => {
    const row = make('tr', {}, make('th', { scope: 'row' }, station.id), make('td'), make('td'), make('td'));
    body.append(row);
    return [...row.querySelectorAll('td')];
  });
  const keys = 'Drag the time axis to move the cursor; drag the bands to pan; pinch, or turn the wheel with Ctrl, to zoom. '
    + 'Keys on the bands: left and right move the cursor (with Shift ten times as far), + and − zoom, Page Up and Page Down '
    + 'pan, Home and End go to the ends, Space plays'
    + (picks ? ', up and down choose a station, Enter puts a stop there.' : '.');
  const legend = make('ul', { class: 'replay-legend' });
  root.append(picture, controls, legend, bands, make('p', { class: 'replay-keys' }, keys),
    make('div', { class: 'scroll replay-scroll', tabindex: '0', role: 'region', 'aria-label': 'Values at the cursor' }, values));
  element.replaceChildren(root);

  drawLegend(legend, replay, colours);
  const drawnBands = new Bands(bands, replay, colours);
  const line = new Line(picture, replay, colours);
  const firstStop = replay.injected[0];
  let t = firstStop ? firstStop.start_us : replay.window_start_us;
  let chosen = picks ? replay.stations.findIndex((station) => station.has_states) : null;
  let frame = 0;
  let last = null;
  speed.value = '5';

  const limitView = ([from, to]) => {
    const most = replay.end_us - replay.start_us;
    const length = Math.min(Math.max(to - from, Math.min(SHORTEST_VIEW_US, most)), most);
    const middle = (from + to) / 2;
    const start = Math.min(Math.max(middle - length / 2, replay.start_us), replay.end_us - length);
    return [start, start + length];
  };

  function showValues() {
    clock.textContent = timeWords(t);
    const words = [];
    replay.stations.forEach((station, index) => {
      const found = station.has_states ? stateAt(replay, index, t) : null;
      const content = contentAt(replay, index, t);
      const capacity = station.content?.capacity_pieces ?? null;
      const state = station.has_states ? stateWords(found) : '';
      const without = content?.exact && content.without !== null ? String(content.without) : '';
      [state, contentWords(content, capacity), without].forEach((text, place) => {
        if (cells[index][place].textContent !== text) cells[index][place].textContent = text;
      });
      cells[index][0].parentElement.classList.toggle('in-wake', inWake(replay, index, t));
      if (found && found.state !== 0) words.push(`${station.id} ${stateWords(found)}`);
    });
    bands.setAttribute('aria-valuenow', (t / US).toFixed(1));
    const where = chosen === null ? '' : `; chosen: ${replay.stations[chosen].id}`;
    bands.setAttribute('aria-valuetext', `${timeWords(t)}; ${words.join(', ') || 'all run'}${where}`);
    picture.setAttribute('aria-label', `The line at ${timeWords(t)}, with its portions and packs`);
  }

  function show() {
    drawnBands.drawOver(t, chosen);
    line.draw(t);
    showValues();
  }

  function layOut() {
    const width = Math.max(280, root.clientWidth);
    drawnBands.layOut(width);
    line.layOut(width);
    picture.style.height = `${line.height}px`;
    drawnBands.draw();
    show();
  }

  function setView(view) {
    drawnBands.view = limitView(view);
    drawnBands.draw();
    drawnBands.drawOver(t, chosen);
  }

  function moveTo(t_us, follow = true) {
    t = Math.round(Math.min(Math.max(t_us, replay.start_us), replay.end_us));
    const [from, to] = drawnBands.view;
    if (follow && (t < from || t > to)) setView([t - (to - from) * 0.2, t + (to - from) * 0.8]);
    show();
  }

  function zoom(factor, around = t) {
    const [from, to] = drawnBands.view;
    const centre = Math.min(Math.max(around, from), to);
    setView([centre - (centre - from) * factor, centre + (to - centre) * factor]);
  }

  function pan(by_us) {
    const [from, to] = drawnBands.view;
    setView([from + by_us, to + by_us]);
  }

  function step(direction) {
    pause();
    const advances = replay.web?.advances ?? [];
    const within = t >= replay.window_start_us && t <= replay.window_end_us;
    if (within && advances.length) {
      const place = direction > 0
        ? countUpTo(advances, t, firstOf)
        : countUpTo(advances, t - 1, firstOf) - 1;
      if (place >= 0 && place < advances.length) return moveTo(advances[place][0]);
    }
    return moveTo(t + direction * US);
  }

  function tick(now) {
    if (last !== null) {
      const next = t + (now - last) * 1e3 * Number(speed.value);
      // At the end of what is known of every pack, and at the end of the run.
      const end = t < replay.window_end_us ? replay.window_end_us : replay.end_us;
      if (next >= end) {
        pause();
        return moveTo(end);
      }
      moveTo(next);
    }
    last = now;
    frame = requestAnimationFrame(tick);
    return undefined;
  }

  function play() {
    if (frame) return;
    if (t >= replay.end_us) moveTo(replay.window_start_us);
    playing.textContent = 'Pause';
    last = null;
    frame = requestAnimationFrame(tick);
  }

  function pause() {
    if (frame) cancelAnimationFrame(frame);
    frame = 0;
    playing.textContent = 'Play';
  }

  const nearView = () => {
    const [a, b] = [replay.window_start_us, replay.window_end_us];
    return b > a ? [a, b] : [replay.start_us, replay.end_us];
  };
  const pick = (station, t_us) => onPickStop(station, t_us / US);

  on(back, 'click', () => step(-1));
  on(ahead, 'click', () => step(1));
  on(playing, 'click', () => (frame ? pause() : play()));
  on(closer, 'click', () => zoom(0.5));
  on(wider, 'click', () => zoom(2));
  on(whole, 'click', () => setView([replay.start_us, replay.end_us]));
  on(near, 'click', () => { setView(nearView()); if (firstStop) moveTo(firstStop.start_us, false); });

  on(bands, 'keydown', (event) => {
    const [from, to] = drawnBands.view;
    const pixel = (to - from) / (drawnBands.right - drawnBands.left);
    const far = event.shiftKey ? 10 : 1;
    const withStates = replay.stations.flatMap((station, index) => (station.has_states ? [index] : []));
    const choose = (by) => {
      const place = withStates.indexOf(chosen) + by;
      chosen = withStates[Math.min(Math.max(place, 0), withStates.length - 1)];
      show();
    };
    const acts = {
      ArrowLeft: () => moveTo(t - 2 * pixel * far),
      ArrowRight: () => moveTo(t + 2 * pixel * far),
      PageUp: () => pan(-(to - from) * 0.8),
      PageDown: () => pan((to - from) * 0.8),
      Home: () => moveTo(replay.start_us),
      End: () => moveTo(replay.end_us),
      '+': () => zoom(0.5),
      '=': () => zoom(0.5),
      '-': () => zoom(2),
      0: () => setView([replay.start_us, replay.end_us]),
      ' ': () => (frame ? pause() : play()),
      ArrowUp: () => (picks ? choose(-1) : moveTo(t + 2 * pixel * far)),
      ArrowDown: () => (picks ? choose(1) : moveTo(t - 2 * pixel * far)),
      Enter: () => picks && pick(chosen, t),
    };
    const act = acts[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    act();
  });

  // Pointers: on the axis the cursor is dragged, on the bands the view; two fingers zoom.
  const pointers = new Map();
  let drag = null;
  const placeOf = (event) => {
    const box = bands.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  on(bands, 'pointerdown', (event) => {
    if (event.button !== 0) return;
    const at = placeOf(event);
    pointers.set(event.pointerId, at);
    bands.setPointerCapture(event.pointerId);
    if (pointers.size === 2) {
      const [one, other] = [...pointers.values()];
      drag = { kind: 'pinch', apart: Math.max(20, Math.abs(one.x - other.x)), view: drawnBands.view,
        around: drawnBands.time((one.x + other.x) / 2) };
      return;
    }
    drag = { kind: at.y >= drawnBands.axis ? 'cursor' : 'pan', from: at, view: drawnBands.view, moved: false };
    if (drag.kind === 'cursor') {
      pause();
      moveTo(drawnBands.time(at.x), false);
    }
  });
  on(bands, 'pointermove', (event) => {
    const at = placeOf(event);
    if (!drag || !pointers.has(event.pointerId)) {
      bands.classList.toggle('on-axis', at.y >= drawnBands.axis);
      return;
    }
    pointers.set(event.pointerId, at);
    if (drag.kind === 'cursor') {
      moveTo(drawnBands.time(at.x), false);
    } else if (drag.kind === 'pan') {
      if (Math.abs(at.x - drag.from.x) > 5) drag.moved = true;
      if (!drag.moved) return;
      const by = ((drag.from.x - at.x) / (drawnBands.right - drawnBands.left)) * (drag.view[1] - drag.view[0]);
      setView([drag.view[0] + by, drag.view[1] + by]);
    } else if (pointers.size === 2) {
      const [one, other] = [...pointers.values()];
      const factor = drag.apart / Math.max(20, Math.abs(one.x - other.x));
      const { view, around } = drag;
      setView([around - (around - view[0]) * factor, around + (view[1] - around) * factor]);
    }
  });
  const release = (event) => {
    if (!pointers.delete(event.pointerId)) return;
    const ended = drag;
    if (pointers.size === 0) drag = null;
    if (event.type !== 'pointerup' || !ended || ended.kind !== 'pan' || ended.moved) return;
    const at = placeOf(event);
    if (at.x < drawnBands.left - 4 && !drawnBands.narrow) return;
    moveTo(drawnBands.time(at.x), false);
    const row = drawnBands.rowAt(at.y);
    if (picks && row && row.kind === 'band') {
      chosen = row.index;
      show();
      pick(row.index, t);
    }
  };
  on(bands, 'pointerup', release);
  on(bands, 'pointercancel', release);
  on(bands, 'wheel', (event) => {
    const [from, to] = drawnBands.view;
    if (event.ctrlKey || event.metaKey) {
      event.preventDefault();
      zoom(Math.exp(Math.min(Math.max(event.deltaY, -60), 60) * 0.01), drawnBands.time(placeOf(event).x));
    } else if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      event.preventDefault();
      pan(((event.deltaX || event.deltaY) / (drawnBands.right - drawnBands.left)) * (to - from));
    }
  }, { passive: false });

  drawnBands.view = limitView(nearView());
  const watch = new ResizeObserver(() => layOut());
  watch.observe(root);
  layOut();

  return {
    seek: (t_s) => moveTo(t_s * US),
    play,
    pause,
    destroy() {
      pause();
      watch.disconnect();
      for (const one of undo) one();
      element.replaceChildren();
    },
  };
}

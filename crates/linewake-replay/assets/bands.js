// The picture of bands: states and contents over time, the wake, and the cursor.

import { canvasIn, contextOf, hatch } from './canvas.js';
import { US, countUpTo, firstOf, tickWords } from './times.js';

export const STRIP = 18;
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

export class Bands {
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

// The moving picture: the line with every portion and pack where it stands.

import { canvasIn, contextOf } from './canvas.js';
import { STATES, contentAt, contentWords, inWake, stateAt } from './moment.js';
import { advancesAt, placesAt, pocketOf } from './places.js';
import { US } from './times.js';

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

export class Line {
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

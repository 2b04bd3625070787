// What the marks mean, each drawn by the picture that has it.

import { Bands, STRIP } from './bands.js';
import { canvasIn, contextOf, make } from './canvas.js';
import { Line } from './line.js';

export function drawLegend(list, replay, colours) {
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

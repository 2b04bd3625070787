// What stands around the two pictures: buttons, clock, legend, the table of values, and words on how to use them.

import { make } from './canvas.js';
import { US } from './times.js';

const SPEEDS = [0.25, 1, 5, 20, 60];

const button = (words, label) => make('button', { type: 'button', 'aria-label': label ?? null }, words);

function buttonsOf(replay) {
  const speed = make('select', { 'aria-label': 'Speed' });
  for (const value of SPEEDS) speed.append(make('option', { value }, `${value} × speed`));
  speed.value = '5';
  return {
    back: button('◂ step', 'One step back'),
    playing: button('Play'),
    ahead: button('step ▸', 'One step on'),
    speed,
    closer: button('+', 'Zoom in'),
    wider: button('−', 'Zoom out'),
    whole: button('Whole run'),
    near: button(replay.injected.length ? 'The stop' : 'Shown packs'),
  };
}

function valuesOf(replay) {
  const body = make('tbody');
  const values = make('table', { class: 'replay-values' },
    make('caption', {}, 'At the cursor'),
    make('thead', {}, make('tr', {},
      make('th', { scope: 'col' }, 'Station'), make('th', { scope: 'col' }, 'State'),
      make('th', { scope: 'col' }, 'Content, pieces'), make('th', { scope: 'col' }, 'Without the stop'))),
    body);
  const cells = replay.stations.map((station) => {
    const row = make('tr', {}, make('th', { scope: 'row' }, station.id), make('td'), make('td'), make('td'));
    body.append(row);
    return [...row.querySelectorAll('td')];
  });
  return { values, cells };
}

/** The elements of a replay; `cells`: state, content and content without the stop of each station. */
export function frameOf(replay, picks) {
  const buttons = buttonsOf(replay);
  const { back, playing, ahead, speed, closer, wider, whole, near } = buttons;
  const { values, cells } = valuesOf(replay);
  const picture = make('div', { class: 'replay-line', role: 'img' });
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
  const keys = 'Drag the time axis to move the cursor; drag the bands to pan; pinch, or turn the wheel with Ctrl, to zoom. '
    + 'Keys on the bands: left and right move the cursor (with Shift ten times as far), + and − zoom, Page Up and Page Down '
    + 'pan, Home and End go to the ends, Space plays'
    + (picks ? ', up and down choose a station, Enter puts a stop there.' : '.');
  const legend = make('ul', { class: 'replay-legend' });
  const root = make('div', { class: 'replay' }, picture, controls, legend, bands, make('p', { class: 'replay-keys' }, keys),
    make('div', { class: 'scroll replay-scroll', tabindex: '0', role: 'region', 'aria-label': 'Values at the cursor' }, values));
  return { root, picture, legend, bands, clock, buttons, cells };
}

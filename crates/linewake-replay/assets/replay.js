// Draws a finished run: bands of states over time, and above them the line with every portion and pack where it stands.
//
// It holds no physics and no figure of its own. Times: `_us` whole microseconds since the start of the run, `_s` seconds.

import { Bands } from './bands.js';
import { coloursOf } from './canvas.js';
import { frameOf } from './frame.js';
import { drawLegend } from './legend.js';
import { Line } from './line.js';
import { contentAt, contentWords, inWake, stateAt, stateWords } from './moment.js';
import { steerByKeys, steerByPointers } from './steer.js';
import { US, countUpTo, firstOf, timeWords } from './times.js';

const FORM = 1;
const SHORTEST_VIEW_US = 5 * US;

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
  const { root, picture, legend, bands, clock, buttons, cells } = frameOf(replay, picks);
  element.replaceChildren(root);
  drawLegend(legend, replay, colours);
  const drawnBands = new Bands(bands, replay, colours);
  const line = new Line(picture, replay, colours);
  const firstStop = replay.injected[0];
  let t = firstStop ? firstStop.start_us : replay.window_start_us;
  let chosen = picks ? replay.stations.findIndex((station) => station.has_states) : null;
  let frame = 0;
  let last = null;

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
      const next = t + (now - last) * 1e3 * Number(buttons.speed.value);
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
    buttons.playing.textContent = 'Pause';
    last = null;
    frame = requestAnimationFrame(tick);
  }

  function pause() {
    if (frame) cancelAnimationFrame(frame);
    frame = 0;
    buttons.playing.textContent = 'Play';
  }

  const nearView = () => {
    const [a, b] = [replay.window_start_us, replay.window_end_us];
    return b > a ? [a, b] : [replay.start_us, replay.end_us];
  };

  const toggle = () => (frame ? pause() : play());

  function choose(by) {
    const withStates = replay.stations.flatMap((station, index) => (station.has_states ? [index] : []));
    const place = withStates.indexOf(chosen) + by;
    chosen = withStates[Math.min(Math.max(place, 0), withStates.length - 1)];
    show();
  }

  function pick(station = chosen) {
    if (station !== chosen) {
      chosen = station;
      show();
    }
    onPickStop(chosen, t / US);
  }

  on(buttons.back, 'click', () => step(-1));
  on(buttons.ahead, 'click', () => step(1));
  on(buttons.playing, 'click', toggle);
  on(buttons.closer, 'click', () => zoom(0.5));
  on(buttons.wider, 'click', () => zoom(2));
  on(buttons.whole, 'click', () => setView([replay.start_us, replay.end_us]));
  on(buttons.near, 'click', () => { setView(nearView()); if (firstStop) moveTo(firstStop.start_us, false); });
  const acts = { now: () => t, moveTo, setView, zoom, pan, toggle, pause, choose, pick };
  steerByKeys(on, bands, replay, drawnBands, acts, picks);
  steerByPointers(on, bands, drawnBands, acts, picks);

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

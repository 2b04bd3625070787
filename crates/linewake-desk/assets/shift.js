// One shift of the line, drawn from its log, and stops put into it. The drawing is replay.js; the run is the server's.

import { listen } from '/talk.js';
import { make } from '/make.js';
import { mount } from '/replay.js';

const clock = (s) => `${Math.floor(s / 3600)} h ${String(Math.floor(s / 60) % 60).padStart(2, '0')} min ${String(Math.round(s % 60)).padStart(2, '0')} s`;

export function mountShift(controls, root, { model, say }) {
  let stops = [];
  let drawing = null;
  let asked = null;
  let cursor_s = null;

  const number = (id, label, unit, properties) => {
    const input = make('input', { id, type: 'number', ...properties });
    return [input, make('span', {}, make('label', { htmlFor: id }, label), input, unit)];
  };
  const [replication, replicationBox] = number('shift-number', 'Shift', '', { min: 1, max: 5000, step: 1, value: 1 });
  const luck = make('input', { id: 'shift-luck', type: 'checkbox', checked: true });
  const station = make('select', { id: 'stop-station' });
  const [minute, minuteBox] = number('stop-minute', 'at', 'min', { min: 0, max: 100000, step: 'any', value: 90 });
  const [duration, durationBox] = number('stop-duration', 'for', 's', { min: 1, max: 86400, step: 'any', value: 40 });
  const add = make('button', { type: 'button', id: 'stop-add' }, 'Put the stop in');
  const list = make('ul', { className: 'stops', id: 'stops-put-in' });
  const words = make('p', { id: 'shift-words', role: 'status' });
  const told = make('details', { hidden: true, open: true }, make('summary', {}, 'The wake of it, in the words of linewake wake'),
    make('pre', { tabIndex: 0, 'aria-label': 'The wake in words' }));
  controls.replaceChildren(
    make('div', { className: 'row controls' }, replicationBox,
      make('span', {}, luck, make('label', { htmlFor: 'shift-luck' }, 'with the line\u2019s own stops'))),
    make('div', { className: 'row controls' },
      make('span', {}, make('label', { htmlFor: 'stop-station' }, 'Stop'), station), minuteBox, durationBox, add),
    make('p', { className: 'quiet' }, 'The shift starts with new rolls. Or choose a place on the bands below: a click puts a stop there, as long as the field says. The same shift is run again with it; all other luck stays.'),
    list, words);
  root.after(told);

  function showStops() {
    list.replaceChildren(...stops.map((stop, place) => {
      const remove = make('button', { type: 'button', 'aria-label': `Take out the stop of ${stop.station}` }, 'Take out');
      remove.addEventListener('click', () => {
        stops.splice(place, 1);
        showStops();
        redraw();
        add.focus();
      });
      return make('li', {}, `${stop.station}, at ${clock(stop.at_s)}, for ${stop.duration_s} s `, remove);
    }));
  }

  function put(name, at_s) {
    if (!(duration.valueAsNumber > 0)) {
      words.textContent = 'Say for how many seconds the stop lasts.';
      return;
    }
    stops.push({ station: name, at_s, duration_s: duration.valueAsNumber });
    stops.sort((one, other) => one.at_s - other.at_s);
    cursor_s = at_s;
    showStops();
    redraw();
  }

  async function redraw() {
    const now = model();
    if (!now) return;
    const stations = now.line.stations;
    const withStates = stations.filter((it) => it.has_states).map((it) => it.id);
    if ([...station.options].map((it) => it.value).join('\n') !== withStates.join('\n')) {
      station.replaceChildren(...withStates.map((id) => make('option', { value: id }, id)));
      const known = new Set(stations.map((it) => it.id));
      stops = stops.filter((stop) => known.has(stop.station));
      showStops();
    }
    asked?.abort();
    const mine = new AbortController();
    asked = mine;
    const body = {
      name: now.name, text: now.text, seed: now.wanted.seed, replication: Math.max(0, (replication.valueAsNumber || 1) - 1),
      luck: luck.checked, stops,
    };
    try {
      await listen('/api/replay', body, (event, data) => {
        if (asked !== mine) return;
        if (event === 'ended') words.textContent = data;
        if (event === 'busy') words.textContent = data.error;
        if (event === 'replay') show(data, now.line.digest);
      }, mine.signal);
    } catch (error) {
      if (error.name !== 'AbortError') words.textContent = error.message;
    }
  }

  function show(data, digest) {
    const hadFocus = root.contains(document.activeElement) ? document.activeElement.className : null;
    drawing?.destroy();
    drawing = mount(root, data.replay, { onPickStop: (index, at_s) => put(data.replay.stations[index].id, at_s) });
    if (cursor_s !== null) drawing.seek(cursor_s);
    if (hadFocus) root.querySelector(`.${hadFocus.split(' ')[0]}`)?.focus();
    const packs = (count) => count.toLocaleString('en');
    words.textContent = data.good_packs_without === null
      ? `This shift makes ${packs(data.good_packs)} good packs.`
      : `This shift makes ${packs(data.good_packs)} good packs, ${packs(data.good_packs_without)} without the stops put in: ${packs(Math.abs(data.lost))} ${data.lost < 0 ? 'more' : 'fewer'}.`;
    told.hidden = data.told === null;
    told.querySelector('pre').textContent = data.told ?? '';
    root.dataset.digest = digest;
    root.dataset.stops = stops.length;
    if (stops.length) say(words.textContent);
  }

  add.addEventListener('click', () => {
    if (station.value && minute.valueAsNumber >= 0) put(station.value, minute.valueAsNumber * 60);
  });
  replication.addEventListener('change', redraw);
  luck.addEventListener('change', redraw);
  return { redraw };
}

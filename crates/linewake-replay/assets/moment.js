// What a station does and holds at an instant, read from the data of the replay and put into words.

import { countUpTo, firstOf } from './times.js';

export const STATES = ['running', 'starved', 'blocked', 'waiting for an operator', 'stopped', 'planned stop', 'not known'];

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

export const inWake = (replay, station, t) =>
  replay.wake.some((mark) => mark.station === station && mark.start_us <= t && t < mark.end_us);

export function stateWords(found) {
  if (!found) return 'no state';
  return found.reason ? `${STATES[found.state]}: ${found.reason}` : STATES[found.state];
}

export function contentWords(content, capacity) {
  if (!content) return '';
  const of = capacity === null ? '' : ` of ${capacity}`;
  if (!content.exact) return `${content.lowest} to ${content.highest}${of}`;
  return content.pieces === null ? '' : `${content.pieces}${of}`;
}

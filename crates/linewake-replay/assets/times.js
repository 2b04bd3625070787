// Times of a run: lists that are sorted by them, and how they are written. `_us`: whole microseconds since the start.

export const US = 1e6;

// How many of a sorted list lie at or before t; `of` gives the time of an entry.
export function countUpTo(list, t, of) {
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (of(list[middle]) <= t) low = middle + 1;
    else high = middle;
  }
  return low;
}

export const firstOf = (entry) => entry[0];

const two = (number) => String(number).padStart(2, '0');

/** Time since the start of the run: "1 h 20 min 05.0 s". */
export function timeWords(t_us) {
  const tenths = Math.round(t_us / 1e5);
  const [s, min, h] = [(tenths % 600) / 10, Math.floor(tenths / 600) % 60, Math.floor(tenths / 36000)];
  return `${h} h ${two(min)} min ${s.toFixed(1).padStart(4, '0')} s`;
}

export function tickWords(t_us, step_us) {
  const s = Math.round(t_us / US);
  const clock = `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}`;
  return step_us < 60 * US ? `${clock}:${two(s % 60)}` : clock;
}

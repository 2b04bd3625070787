// Where every portion and pack stands at an instant: the rule of place.rs, and a test holds the two against each other.

import { countUpTo, firstOf } from './times.js';

function clockAt(motion, t) {
  const after = countUpTo(motion, t, firstOf);
  if (after === 0) return motion.length ? motion[0][1] : 0;
  const [at, clock, runs] = motion[after - 1];
  return runs ? clock + (t - at) : clock;
}

export function advancesAt(replay, t) {
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

export function pocketOf(web, number) {
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

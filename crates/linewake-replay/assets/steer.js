// Keyboard, pointers and wheel on the bands. `on(target, event, what, options)` listens; `acts` is what they can do:
// now(), moveTo(t_us, follow), setView(view), zoom(factor, around), pan(by_us), toggle(), pause(), choose(by), and
// pick(station), which puts a stop at now() into that station, or without one into the chosen station.

/** Keys on the bands; `picks`: up and down choose a station, Enter picks a stop of it. */
export function steerByKeys(on, element, replay, bands, acts, picks) {
  on(element, 'keydown', (event) => {
    const t = acts.now();
    const [from, to] = bands.view;
    const pixel = (to - from) / (bands.right - bands.left);
    const far = event.shiftKey ? 10 : 1;
    const keys = {
      ArrowLeft: () => acts.moveTo(t - 2 * pixel * far),
      ArrowRight: () => acts.moveTo(t + 2 * pixel * far),
      PageUp: () => acts.pan(-(to - from) * 0.8),
      PageDown: () => acts.pan((to - from) * 0.8),
      Home: () => acts.moveTo(replay.start_us),
      End: () => acts.moveTo(replay.end_us),
      '+': () => acts.zoom(0.5),
      '=': () => acts.zoom(0.5),
      '-': () => acts.zoom(2),
      0: () => acts.setView([replay.start_us, replay.end_us]),
      ' ': () => acts.toggle(),
      ArrowUp: () => (picks ? acts.choose(-1) : acts.moveTo(t + 2 * pixel * far)),
      ArrowDown: () => (picks ? acts.choose(1) : acts.moveTo(t - 2 * pixel * far)),
      Enter: () => picks && acts.pick(),
    };
    const act = keys[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    act();
  });
}

/** Pointers and wheel: on the axis the cursor is dragged, on the bands the view; two fingers zoom. */
export function steerByPointers(on, element, bands, acts, picks) {
  const pointers = new Map();
  let drag = null;
  const placeOf = (event) => {
    const box = element.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  on(element, 'pointerdown', (event) => {
    if (event.button !== 0) return;
    const at = placeOf(event);
    pointers.set(event.pointerId, at);
    element.setPointerCapture(event.pointerId);
    if (pointers.size === 2) {
      const [one, other] = [...pointers.values()];
      drag = { kind: 'pinch', apart: Math.max(20, Math.abs(one.x - other.x)), view: bands.view,
        around: bands.time((one.x + other.x) / 2) };
      return;
    }
    drag = { kind: at.y >= bands.axis ? 'cursor' : 'pan', from: at, view: bands.view, moved: false };
    if (drag.kind === 'cursor') {
      acts.pause();
      acts.moveTo(bands.time(at.x), false);
    }
  });
  on(element, 'pointermove', (event) => {
    const at = placeOf(event);
    if (!drag || !pointers.has(event.pointerId)) {
      element.classList.toggle('on-axis', at.y >= bands.axis);
      return;
    }
    pointers.set(event.pointerId, at);
    if (drag.kind === 'cursor') {
      acts.moveTo(bands.time(at.x), false);
    } else if (drag.kind === 'pan') {
      if (Math.abs(at.x - drag.from.x) > 5) drag.moved = true;
      if (!drag.moved) return;
      const by = ((drag.from.x - at.x) / (bands.right - bands.left)) * (drag.view[1] - drag.view[0]);
      acts.setView([drag.view[0] + by, drag.view[1] + by]);
    } else if (pointers.size === 2) {
      const [one, other] = [...pointers.values()];
      const factor = drag.apart / Math.max(20, Math.abs(one.x - other.x));
      const { view, around } = drag;
      acts.setView([around - (around - view[0]) * factor, around + (view[1] - around) * factor]);
    }
  });
  const release = (event) => {
    if (!pointers.delete(event.pointerId)) return;
    const ended = drag;
    if (pointers.size === 0) drag = null;
    if (event.type !== 'pointerup' || !ended || ended.kind !== 'pan' || ended.moved) return;
    const at = placeOf(event);
    if (at.x < bands.left - 4 && !bands.narrow) return;
    acts.moveTo(bands.time(at.x), false);
    const row = bands.rowAt(at.y);
    if (picks && row && row.kind === 'band') acts.pick(row.index);
  };
  on(element, 'pointerup', release);
  on(element, 'pointercancel', release);
  on(element, 'wheel', (event) => {
    const [from, to] = bands.view;
    if (event.ctrlKey || event.metaKey) {
      event.preventDefault();
      acts.zoom(Math.exp(Math.min(Math.max(event.deltaY, -60), 60) * 0.01), bands.time(placeOf(event).x));
    } else if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      event.preventDefault();
      acts.pan(((event.deltaX || event.deltaY) / (bands.right - bands.left)) * (to - from));
    }
  }, { passive: false });
}

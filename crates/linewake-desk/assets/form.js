// The form of a model: a slider, a number and a unit for each value. What a change means is for the server to say.

import { make } from '/make.js';

// Builds the form into `root`. `changed(path, value)` is called while a slider moves and when a number was typed.
export function buildForm(root, fields, changed) {
  root.replaceChildren();
  const controls = new Map();
  const groups = Map.groupBy(fields, (field) => field.group);
  let first = true;
  for (const [group, members] of groups) {
    const inside = make('div', { className: 'values' });
    const box = make('details', { open: first }, make('summary', {}, `${group} (${members.length})`), inside);
    first = false;
    for (const field of members) {
      const control = one(field, changed);
      controls.set(field.path, control);
      inside.append(control.element);
    }
    root.append(box);
  }
  return {
    // Shows values that came about elsewhere. A field that the model no longer lists keeps its control.
    show(latest) {
      for (const field of latest) controls.get(field.path)?.show(field);
    },
    has: (latest) => latest.every((field) => controls.has(field.path)),
    filter(words) {
      const wanted = words.trim().toLowerCase();
      for (const box of root.querySelectorAll('details')) {
        let any = false;
        for (const row of box.querySelectorAll('.value')) {
          const fits = `${box.querySelector('summary').textContent} ${row.textContent}`.toLowerCase().includes(wanted);
          row.hidden = !fits;
          any ||= fits;
        }
        box.hidden = !any;
        if (wanted && any) box.open = true;
      }
    },
  };
}

let count = 0;

function one(field, changed) {
  count += 1;
  const id = `value-${count}`;
  const words = `${field.label}${field.unit ? `, ${field.unit}` : ''}`;
  const slider = make('input', {
    type: 'range', id, min: field.low, max: field.high, step: field.step, value: field.value,
  });
  const number = make('input', { type: 'number', step: 'any', value: field.value, 'aria-label': `${field.group}: ${words}` });
  const note = make('span', { className: 'quiet note-of-value' }, field.note);
  const opened = field.value;
  const element = make('div', { className: 'value' },
    make('label', { htmlFor: id }, field.label),
    make('span', { className: 'pair-of-inputs' }, slider, number, make('span', { className: 'unit' }, field.unit)),
    note);
  const mark = (value) => element.classList.toggle('moved', value !== opened);
  slider.addEventListener('input', () => {
    number.value = slider.value;
    mark(Number(slider.value));
    changed(field.path, Number(slider.value));
  });
  number.addEventListener('change', () => {
    if (number.value === '' || !Number.isFinite(number.valueAsNumber)) return;
    slider.value = number.value;
    mark(number.valueAsNumber);
    changed(field.path, number.valueAsNumber);
  });
  return {
    element,
    show(latest) {
      note.textContent = latest.note;
      mark(latest.value);
      if (document.activeElement !== number) number.value = latest.value;
      if (document.activeElement !== slider) slider.value = latest.value;
    },
  };
}

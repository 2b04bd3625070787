// Draws what the server found: a table of figures, the shifts as dots, the losses. Nothing is worked out here but where a
// mark goes on the paper.

import { draw, make } from '/make.js';

// The table. Columns of the pinned line are there if it was compared.
export function showFigures(root, figures, pinnedName) {
  const compared = figures.rows.some((row) => row.pinned !== null);
  const head = make('tr', {}, make('th', { scope: 'col' }, 'Figure'), make('th', { scope: 'col', className: 'n' }, 'This line'));
  if (compared) {
    head.append(make('th', { scope: 'col', className: 'n' }, 'Pinned'), make('th', { scope: 'col', className: 'n' }, 'Difference'),
      make('th', { scope: 'col' }, 'This line makes'));
  }
  const body = make('tbody');
  for (const row of figures.rows) {
    const line = make('tr', { 'data-key': row.key }, make('th', { scope: 'row' }, row.label, row.unit === 'packs' ? null : make('span', { className: 'quiet' }, ` ${row.unit}`)),
      make('td', { className: 'n' }, row.shown));
    if (row.mean !== null) line.dataset.mean = row.mean;
    if (compared) {
      line.append(make('td', { className: 'n' }, row.pinned), make('td', { className: 'n' }, row.difference),
        make('td', { className: row.verdict === 'more' || row.verdict === 'less' ? 'told' : '' }, row.verdict));
    }
    body.append(line);
  }
  const words = `${figures.done} of ${figures.of} shifts, 95 % intervals`
    + (compared ? `; differences shift by shift with the same luck, against ${pinnedName}` : '');
  root.replaceChildren(
    make('div', { className: 'scroll', tabIndex: 0, role: 'region', 'aria-label': 'Figures of the line' },
      make('table', {}, make('thead', {}, head), body)),
    make('p', { className: 'quiet' }, words));
}

// Round steps of an axis between two numbers.
function ticks(from, to, most) {
  const rough = (to - from) / most;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((digit) => digit * power).find((it) => it >= rough);
  const marks = [];
  for (let mark = Math.ceil(from / step) * step; mark <= to; mark += step) marks.push(Math.round(mark));
  return marks;
}

let redraw = null;
addEventListener('resize', () => redraw?.());

// One dot a shift, and the mean with its interval, for this line and the pinned one.
export function showShifts(root, figures) {
  redraw = () => showShifts(root, figures);
  const width = Math.max(300, Math.min(820, root.clientWidth || 820));
  const rows = [['this line', figures.good_packs, figures.rows[0]]];
  if (figures.pinned_good_packs) rows.push(['pinned', figures.pinned_good_packs, null]);
  const all = rows.flatMap(([, packs]) => packs);
  let [low, high] = [Math.min(...all), Math.max(...all)];
  if (high - low < 10) [low, high] = [low - 5, high + 5];
  const margin = (high - low) * 0.05;
  [low, high] = [low - margin, high + margin];
  const [left, right, rowHeight] = [70, 16, 44];
  const height = rows.length * rowHeight + 34;
  const x = (packs) => left + ((packs - low) / (high - low)) * (width - left - right);
  const svg = draw('svg', { viewBox: `0 0 ${width} ${height}`, width, height, role: 'img', 'aria-labelledby': 'shifts-title' });
  for (const mark of ticks(low, high, width / 110)) {
    svg.append(draw('line', { x1: x(mark), x2: x(mark), y1: 4, y2: height - 26, class: 'grid' }),
      draw('text', { x: x(mark), y: height - 10, 'text-anchor': 'middle', class: 'tick' }, mark.toLocaleString('en')));
  }
  rows.forEach(([name, packs, row], place) => {
    const middle = place * rowHeight + rowHeight / 2 + 4;
    svg.append(draw('text', { x: 0, y: middle + 4, class: 'name' }, name));
    packs.forEach((count, shift) => {
      // Spread up and down by the number of the shift, so that dots do not hide each other.
      const y = middle + ((shift * 7) % 11) * 2 - 10;
      svg.append(draw('circle', { cx: x(count), cy: y, r: 3, class: place === 0 ? 'dot' : 'dot pinned' }));
    });
    if (row && row.half_width !== null) {
      svg.append(draw('line', { x1: x(row.mean - row.half_width), x2: x(row.mean + row.half_width), y1: middle, y2: middle, class: 'interval' }),
        draw('line', { x1: x(row.mean), x2: x(row.mean), y1: middle - 9, y2: middle + 9, class: 'interval' }));
    }
  });
  root.replaceChildren(make('figure', {},
    make('p', { className: 'title', id: 'shifts-title' }, 'Good packs of each shift'),
    svg, make('figcaption', {}, 'Each dot is a shift; the cross is the mean with its interval. Up and down means nothing.')));
}

// The picture of the losses, drawn by the server as in the report.
export function showLosses(root, losses) {
  const [wide, narrow] = [make('div', { className: 'wide' }), make('div', { className: 'narrow' })];
  wide.innerHTML = losses.wide;
  narrow.innerHTML = losses.narrow;
  root.replaceChildren(make('figure', {}, make('p', { className: 'title' }, losses.title), wide, narrow,
    make('figcaption', {}, losses.caption)));
}

// What is wrong with a model, as the command line tells it. `go(line, column)` leads to the place, where there is one.
export function showFaults(root, problems, go) {
  root.replaceChildren();
  root.hidden = !problems.list.length;
  if (!problems.list.length) return;
  if (go) {
    const list = make('ul', { className: 'places' });
    for (const problem of problems.list) {
      const button = make('button', { type: 'button' }, `Line ${problem.line}, column ${problem.column}: ${problem.what}`);
      button.addEventListener('click', () => go(problem.line, problem.column));
      list.append(make('li', {}, button));
    }
    root.append(list);
  }
  root.append(make('pre', { tabIndex: 0, 'aria-label': 'What is wrong, in the words of the command line' }, problems.shown));
}

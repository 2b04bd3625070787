// Lessons: a guess, a run, a reason. The same module serves the live page, where a lesson is run by the server, and the
// saved page, where it was run beforehand. The range that a guess is held against comes with the result.

import { draw, make } from '/make.js';
import { mount } from '/replay.js';

const STORE = 'linewake-lessons';
const POINTS = {
  3: 'within the range of one shift: 3 of 3 points',
  2: 'close to the range of one shift: 2 of 3 points',
  1: 'outside the range: 1 of 3 points, for having looked',
};

function kept() {
  try {
    return JSON.parse(localStorage.getItem(STORE)) ?? {};
  } catch {
    return {};
  }
}

function keep(id, outcome) {
  try {
    localStorage.setItem(STORE, JSON.stringify({ ...kept(), [id]: outcome }));
  } catch {
    // A browser that keeps nothing: the lessons work all the same.
  }
}

export function pointsOf(guess, found) {
  if (guess >= found.low && guess <= found.high) return 3;
  return guess >= found.close_low && guess <= found.close_high ? 2 : 1;
}

// The guess beside the range, on one line.
function scale(guess, found, unit) {
  const ends = [guess, found.close_low, found.close_high];
  const [least, most] = [Math.min(...ends), Math.max(...ends)];
  const room = Math.max((most - least) * 0.08, 1);
  const [from, to] = [least - room, most + room];
  const x = (value) => 10 + ((value - from) / (to - from)) * 580;
  const svg = draw('svg', { viewBox: '0 0 600 78', role: 'img', 'aria-label': `Your guess ${guess} ${unit}, range ${found.range}`, class: 'scale' });
  svg.append(
    draw('line', { x1: 10, x2: 590, y1: 40, y2: 40, class: 'scale-axis' }),
    draw('rect', { x: x(found.close_low), width: Math.max(1, x(found.close_high) - x(found.close_low)), y: 34, height: 12, class: 'scale-close' }),
    draw('rect', { x: x(found.low) - 2, width: x(found.high) - x(found.low) + 4, y: 31, height: 18, class: 'scale-range' }),
    draw('path', { d: `M${x(guess)},31 l-6,-10 h12 z`, class: 'scale-guess' }),
    draw('text', { x: Math.min(Math.max(x(guess), 60), 540), y: 16, 'text-anchor': 'middle' }, `your guess: ${guess}`),
    draw('text', { x: Math.min(Math.max(x((found.low + found.high) / 2), 80), 520), y: 68, 'text-anchor': 'middle' }, `simulated: ${found.range}`),
  );
  return svg;
}

export function mountLessons(root, lessons, { run, savePage = null, say = () => {}, isSaved = false }) {
  const intro = make('p', {}, 'Guess first, then run, then see why. Each lesson is about a small invented line and takes a few minutes. Your progress stays in this browser.');
  const list = make('ol', { className: 'lesson-list' });
  const pane = make('article', { className: 'lesson', 'aria-live': 'off' });
  const total = make('p', { className: 'quiet', id: 'lessons-total' });
  root.replaceChildren(intro, make('div', { className: 'lessons-columns' }, make('nav', { 'aria-label': 'Lessons' }, list, total), pane));
  if (savePage) {
    const button = make('button', { type: 'button', id: 'save-lessons' }, 'Save all lessons as one file');
    const words = make('p', { role: 'status', className: 'quiet', id: 'save-lessons-words' },
      'One HTML file for a training room: it works without linewake, with every lesson computed beforehand.');
    button.addEventListener('click', () => savePage((text) => { words.textContent = text; }));
    root.append(make('div', { className: 'save-lessons' }, button, words));
  }
  let drawing = null;
  let chosen = null;

  function showList() {
    const done = kept();
    list.replaceChildren(...lessons.map((lesson, place) => {
      const outcome = done[lesson.id];
      const button = make('button', { type: 'button', 'data-lesson': lesson.id }, `${place + 1}. ${lesson.title}`);
      if (lesson === chosen) button.setAttribute('aria-current', 'true');
      button.addEventListener('click', () => open(lesson, true));
      return make('li', {}, button, make('span', { className: 'quiet' }, outcome ? `${outcome.points} of 3 points` : ''));
    }));
    const finished = lessons.filter((lesson) => done[lesson.id]);
    const points = finished.reduce((sum, lesson) => sum + done[lesson.id].points, 0);
    total.textContent = `${finished.length} of ${lessons.length} lessons, ${points} of ${3 * lessons.length} points.`;
  }

  function open(lesson, focus = false) {
    chosen = lesson;
    drawing?.destroy();
    drawing = null;
    const guess = make('input', { type: 'number', step: 'any', id: 'guess', required: true });
    const button = make('button', { type: 'submit', className: 'first' }, isSaved ? 'Show what comes out' : 'Run it');
    const words = make('p', { role: 'status', id: 'lesson-words' });
    const result = make('div', { id: 'lesson-result' });
    const form = make('form', { className: 'row' }, make('label', { htmlFor: 'guess' }, 'Your guess'), guess, make('span', {}, lesson.unit), button);
    const heading = make('h2', { tabIndex: -1 }, lesson.title);
    pane.replaceChildren(heading, make('p', {}, make('strong', {}, 'Aim. '), lesson.aim),
      ...lesson.situation.map((text) => make('p', {}, text)),
      make('p', { className: 'question' }, lesson.question), form, words, result,
      make('details', {}, make('summary', {}, 'The line'), make('p', { className: 'quiet' }, lesson.line)));
    form.addEventListener('submit', async (event) => {
      event.preventDefault();
      if (!Number.isFinite(guess.valueAsNumber)) return;
      button.disabled = true;
      words.textContent = isSaved ? '' : 'Running.';
      try {
        const found = await run(lesson.id, (done, of) => { words.textContent = `${done} of ${of} shifts`; });
        if (chosen === lesson) finish(lesson, guess.valueAsNumber, found, words, result);
      } catch (error) {
        words.textContent = error.message;
      } finally {
        button.disabled = false;
      }
    });
    showList();
    if (focus) heading.focus();
  }

  function finish(lesson, guess, found, words, result) {
    const points = pointsOf(guess, found);
    keep(lesson.id, { guess, points });
    words.textContent = `Your guess is ${POINTS[points]}.`;
    const picture = make('div', { className: 'lesson-picture' });
    result.replaceChildren(
      scale(guess, found, lesson.unit),
      make('p', {}, make('strong', {}, `On average ${found.mean}`), found.low === found.high
        ? '. There is no chance in this line: every shift gives the same.'
        : `; one shift in ten lies below and one above ${found.range}.`),
      make('p', { className: 'quiet' }, `${found.how}.${isSaved ? ' Computed beforehand.' : ''}`),
      make('h3', {}, 'Why'), ...lesson.why.map((text) => make('p', {}, text)),
      make('h3', {}, 'One shift of it'), picture);
    drawing?.destroy();
    drawing = mount(picture, found.replay, { readOnly: true });
    say(words.textContent);
    showList();
  }

  showList();
  if (lessons.length) open(lessons[0]);
}

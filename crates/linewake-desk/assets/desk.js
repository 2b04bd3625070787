// The live page: one model at a time, its form, its text, and what its shifts make.

import { ask, listen } from '/talk.js';
import { make } from '/make.js';
import { mountLessons } from '/lessons.js';
import { mountShift } from '/shift.js';
import { buildForm } from '/form.js';
import { showFaults, showFigures, showLosses, showShifts } from '/outputs.js';

const at = (id) => document.getElementById(id);

const state = {
  name: '', // of the file
  hash: null, // of the file as opened or saved
  opened: '', // its text
  text: '', // as it is now
  pinned: null, // { name, text }
  form: null,
  line: null,
};

let said = 0;
let toSay = null;

// Says something to those who listen instead of looking, at most once a second.
function say(words) {
  const wait = Math.max(0, said + 1000 - Date.now());
  clearTimeout(toSay);
  toSay = setTimeout(() => {
    said = Date.now();
    at('status').textContent = words;
  }, wait);
}

// ---- Views

const VIEWS = ['line', 'text', 'lessons'];

function showView() {
  const wanted = VIEWS.find((view) => location.hash === `#${view}`) ?? 'line';
  for (const view of VIEWS) {
    at(`view-${view}`).hidden = view !== wanted;
    const link = document.querySelector(`nav a[href="#${view}"]`);
    if (view === wanted) link.setAttribute('aria-current', 'page');
    else link.removeAttribute('aria-current');
  }
  if (wanted === 'text') at('text').value = state.text;
}

// ---- Shifts

// What is being run, by kind: a new study ends the last one, and leaves a lesson alone.
const running = new Map();

function wanted() {
  return { shifts: at('shifts').valueAsNumber, seed: at('seed').valueAsNumber, start: at('start').value };
}

function showProgress(done, of, words) {
  at('progress').max = of;
  at('progress').value = done;
  at('progress-words').textContent = words ?? `${done} of ${of} shifts`;
}

// Runs something that tells its progress; what of its kind ran before ends. Gives what went wrong, in words, or null.
async function work(path, body, told) {
  running.get(path)?.abort();
  const mine = new AbortController();
  running.set(path, mine);
  at('cancel').disabled = false;
  let fault = null;
  try {
    await listen(path, body, (event, data) => {
      if (running.get(path) !== mine) return;
      if (event === 'ended') fault = data;
      else if (event === 'busy') fault = data.error;
      else told(event, data);
    }, mine.signal);
  } catch (error) {
    fault = error.name === 'AbortError' ? 'cancelled' : error.message;
  } finally {
    if (running.get(path) === mine) {
      if (fault) at('progress-words').textContent = fault;
      running.delete(path);
      at('cancel').disabled = running.size === 0;
    }
  }
  return fault;
}

async function runShifts() {
  if (!state.line) return;
  const began = performance.now();
  const { pinned, text, name } = state;
  const compared = pinned && pinned.text !== text ? pinned.text : null;
  at('figures').setAttribute('aria-busy', 'true');
  await work('/api/study', { name, text, pinned: compared, wanted: wanted() }, (event, data) => {
    if (event === 'progress') {
      showProgress(data.done, data.of, data.line === 'pinned' ? `${data.done} of ${data.of} shifts of the pinned line` : undefined);
    } else if (event === 'figures') {
      showProgress(data.done, data.of);
      showFigures(at('figures'), data, pinned?.name ?? '');
      showShifts(at('shifts-picture'), data);
      showLosses(at('losses'), data.losses);
      if (data.is_final) {
        const seconds = (performance.now() - began) / 1000;
        at('progress-words').textContent = `${data.done} shifts in ${seconds.toFixed(1)} s`;
        at('figures').dataset.seconds = seconds;
        at('figures').dataset.digest = data.digest;
        at('figures').removeAttribute('aria-busy');
        at('command').replaceChildren('The same on the command line, once the model is saved: ', make('code', {}, data.command));
        const [packs, oee] = data.rows;
        shift.redraw();
        say(`Good packs a shift ${packs.shown}, OEE ${oee.shown} %${packs.difference === null ? '' : `, difference ${packs.difference} packs`}.`);
      }
    } else if (event === 'problems') {
      showFaults(at('line-faults'), data);
    }
  });
}

// ---- Editing

let editing = null; // what is being asked
let next = null; // what is to be asked then

// Asks for the text with values set, or for a text to be checked. While one question is open the latest one waits.
function edit(question) {
  if (editing) {
    const before = next?.set ?? [];
    const isForm = question.set && (!next || next.set);
    next = isForm ? { set: [...before.filter((it) => it.path !== question.set[0].path), ...question.set] } : question;
    return;
  }
  const body = { name: state.name, text: question.text ?? state.text, set: question.set ?? [] };
  editing = ask('/api/edit', body).then((edited) => {
    take(edited, Boolean(question.set));
  }).catch((error) => {
    say(error.message);
    at('line-faults').hidden = false;
    at('line-faults').replaceChildren(make('p', {}, error.message));
  }).finally(() => {
    editing = null;
    if (next) {
      const question = next;
      next = null;
      edit(question);
    }
  });
}

// A model as the server sees it.
function take(edited, fromForm) {
  state.text = edited.text;
  state.line = edited.line;
  const faults = edited.problems;
  showFaults(at('line-faults'), faults.errors ? faults : { list: [] });
  showFaults(at('text-faults'), faults, (line, column) => goTo(line, column));
  if (!edited.line) {
    const first = faults.list.find((problem) => problem.severity === 'error');
    say(`The model cannot be run: line ${first.line}, ${first.what}.`);
    at('figures').dataset.stale = 'true';
    return;
  }
  delete at('figures').dataset.stale;
  at('line-name').textContent = edited.line.name;
  at('line-about').textContent = edited.line.about;
  if (!state.form || !fromForm && !state.form.has(edited.fields)) {
    state.form = buildForm(at('form'), edited.fields, (path, value) => edit({ set: [{ path, value }] }));
    state.form.filter(at('filter').value);
  } else {
    state.form.show(edited.fields);
  }
  runShifts();
}

function goTo(line, column) {
  const area = at('text');
  const lines = area.value.split('\n');
  const start = lines.slice(0, line - 1).reduce((sum, it) => sum + it.length + 1, 0) + column - 1;
  area.focus();
  area.setSelectionRange(start, start + 1);
  area.scrollTop = Math.max(0, (line - 6) * parseFloat(getComputedStyle(area).lineHeight));
}

// ---- Files

async function listModels(chosen) {
  const { models } = await ask('/api/models');
  at('model').replaceChildren(...models.map((name) => make('option', { value: name }, name)));
  if (chosen) at('model').value = chosen;
  return models;
}

async function open(name) {
  const file = await ask('/api/open', { name });
  Object.assign(state, { name, hash: file.hash, opened: file.text, text: file.text, form: null, pinned: { name: `${name} as opened`, text: file.text } });
  at('save-name').value = name.replace(/\.json$/, '-variant.json');
  at('text').value = file.text;
  at('keep-words').textContent = '';
  edit({ text: file.text });
}

async function save() {
  const name = at('save-name').value.trim();
  const replaces = name === state.name;
  const known = replaces ? { 'If-Match': `"${state.hash}"` } : { 'If-None-Match': '*' };
  try {
    const { text } = state;
    const { hash } = await ask('/api/save', { name, text }, known);
    Object.assign(state, { name, hash, opened: text });
    await listModels(name);
    at('keep-words').textContent = `Saved as ${name}.`;
    runShifts();
  } catch (error) {
    at('keep-words').textContent = error.message;
  }
}

function download(name, kind, text) {
  const link = make('a', { href: URL.createObjectURL(new Blob([text], { type: kind })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

async function exportReport() {
  at('keep-words').textContent = 'The shifts of the report are being run.';
  const fault = await work('/api/report', { name: state.name, text: state.text, wanted: wanted() }, (event, data) => {
    if (event === 'progress') {
      showProgress(data.done, data.of, `${data.done} of ${data.of} shifts of the report`);
      at('keep-words').textContent = `${data.done} of ${data.of} shifts of the report`;
    }
    if (event === 'problems') at('keep-words').textContent = 'The model has errors: no report.';
    if (event === 'report') {
      download(data.name, 'text/html', data.html);
      at('keep-words').textContent = `Exported as ${data.name}.`;
      at('progress-words').textContent = 'the report is complete';
    }
  });
  if (fault) at('keep-words').textContent = `No report: ${fault}.`;
}

// ---- One shift, and the lessons

const shift = mountShift(at('replay-controls'), at('replay'), {
  model: () => (state.line ? { name: state.name, text: state.text, line: state.line, wanted: wanted() } : null),
  say,
});

async function showLessons() {
  const lessons = await ask('/api/lessons');
  const run = async (id, progress) => {
    let found = null;
    const fault = await work('/api/lesson', { id }, (event, data) => {
      if (event === 'progress') progress(data.done, data.of);
      if (event === 'found') found = data;
    });
    if (!found) throw new Error(fault ?? 'the lesson broke off');
    return found;
  };
  const savePage = async (words) => {
    const fault = await work('/api/training-page', {}, (event, data) => {
      if (event === 'progress') words(`${data.done} of ${data.of} lessons are computed`);
      if (event === 'page') {
        download(data.name, 'text/html', data.html);
        words(`Saved as ${data.name}: it works without linewake.`);
      }
    });
    if (fault) words(fault);
  };
  mountLessons(at('lessons'), lessons, { run, savePage, say });
}

// ---- Wiring

at('model').addEventListener('change', () => open(at('model').value).catch((error) => say(error.message)));
at('filter').addEventListener('input', () => state.form?.filter(at('filter').value));
at('undo').addEventListener('click', () => {
  state.form = null;
  edit({ text: state.opened });
});
at('pin').addEventListener('click', () => {
  state.pinned = { name: `${state.line?.name ?? state.name} as pinned`, text: state.text };
  say('This line is pinned: what you change now is compared with it.');
  runShifts();
});
at('cancel').addEventListener('click', () => {
  for (const one of running.values()) one.abort();
  running.clear();
  at('cancel').disabled = true;
  at('progress-words').textContent = 'cancelled';
  say('Cancelled.');
});
for (const id of ['shifts', 'seed', 'start']) at(id).addEventListener('change', runShifts);
at('save').addEventListener('click', save);
at('export').addEventListener('click', exportReport);
let typed = null;
at('text').addEventListener('input', () => {
  clearTimeout(typed);
  typed = setTimeout(() => edit({ text: at('text').value }), 300);
});
addEventListener('hashchange', showView);

showView();
await showLessons();
const models = await listModels();
if (models.length) await open(models[0]);
else at('line-about').textContent = 'There is no model file (.json) in the folder. Write one, and load this page anew.';

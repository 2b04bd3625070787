// Uses the live page as people do, and fails with every defect that it finds.
//
//   node check-desk.mjs PROGRAM FOLDER
//
// PROGRAM is linewake, FOLDER a folder of models with alder-hill-mince.json in it; a copy of it is worked on. With mouse and with
// the keyboard alone, at 1280 and at 390 px: load, move a slider, put a stop in, play, spoil the model and read the error,
// finish a lesson, save the lessons and open the file without the server. LINEWAKE_PICTURES names a folder for pictures.

import { spawn } from 'node:child_process';
import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { checkAccessibility, checkWidth, launch } from './page-checks.mjs';

const [program, folder] = process.argv.slice(2);
if (!program || !folder) {
  console.error('node check-desk.mjs PROGRAM FOLDER');
  process.exit(2);
}
const MODEL = 'alder-hill-mince.json';
const pictures = process.env.LINEWAKE_PICTURES;
const defects = [];
const check = (holds, words) => { if (!holds) defects.push(words); };

const work = mkdtempSync(path.join(tmpdir(), 'linewake-desk-'));
cpSync(path.join(folder, MODEL), path.join(work, MODEL));

const server = spawn(program, ['serve', work], { stdio: ['ignore', 'pipe', 'inherit'] });
const address = await new Promise((resolve, reject) => {
  let printed = '';
  server.stdout.on('data', (data) => {
    printed += data;
    if (printed.includes('\n')) resolve(printed.trim());
  });
  server.on('exit', () => reject(new Error('the server ended')));
});
const home = new URL(address).origin;

const at = (where, found) => defects.push(...found.map((it) => `${where}: ${it}`));

async function axe(page, where) {
  const found = [];
  await checkAccessibility(page, found);
  at(where, found);
}

async function width(page, limit, where) {
  const found = [];
  await checkWidth(page, limit, found);
  at(where, found);
}

async function picture(page, name) {
  if (pictures) await page.screenshot({ path: path.join(pictures, `${name}.png`), fullPage: true });
}

// The figures of the model as it stands now.
async function settled(page, before) {
  await page.waitForFunction((old) => {
    const figures = document.getElementById('figures');
    return figures.dataset.digest && figures.dataset.digest !== old && !figures.hasAttribute('aria-busy');
  }, before, { timeout: 90000 });
  return page.evaluate(() => {
    const { digest, seconds } = document.getElementById('figures').dataset;
    return { digest, seconds: Number(seconds), packs: document.querySelector('#figures tr[data-key="good_packs"]').textContent };
  });
}

// The shift of the line as it stands, with so many stops put in.
const drawn = (page, stops = 0) => page.waitForFunction((wanted) => {
  const { digest, stops: there } = document.getElementById('replay').dataset;
  return digest === document.getElementById('figures').dataset.digest && Number(there) === wanted;
}, stops, { timeout: 60000 });

async function openPage(browser, viewport, name) {
  const context = await browser.newContext({ viewport, reducedMotion: 'reduce', acceptDownloads: true });
  const page = await context.newPage();
  page.on('request', (request) => {
    const url = request.url();
    if (!url.startsWith(`${home}/`) && !url.startsWith('data:') && !url.startsWith('blob:')) defects.push(`${name}: asks for ${url}`);
  });
  page.on('console', (message) => {
    if (['error', 'warning'].includes(message.type())) defects.push(`${name}: console: ${message.text()}`);
  });
  page.on('pageerror', (error) => defects.push(`${name}: script: ${error.message}`));
  await page.goto(address, { waitUntil: 'load' });
  check(!page.url().includes('token'), `${name}: the token stays in the address`);
  return page;
}

// Moves the focus to an element by Tab alone.
async function tabTo(page, selector, most = 400) {
  for (let step = 0; step < most; step += 1) {
    await page.keyboard.press('Tab');
    if (await page.evaluate((it) => document.activeElement?.matches(it), selector)) {
      const ring = await page.evaluate(() => {
        const style = getComputedStyle(document.activeElement);
        return style.outlineStyle !== 'none' && Number.parseFloat(style.outlineWidth) >= 2;
      });
      check(ring, `no visible focus on ${selector}`);
      return true;
    }
  }
  defects.push(`the keyboard does not reach ${selector}`);
  return false;
}

async function saveLessons(page, browser, name) {
  const [download] = await Promise.all([page.waitForEvent('download', { timeout: 180000 }), page.click('#save-lessons')]);
  const file = path.join(work, 'lessons.html');
  await download.saveAs(file);
  const context = await browser.newContext({ viewport: page.viewportSize(), offline: true, reducedMotion: 'reduce' });
  const saved = await context.newPage();
  const url = pathToFileURL(file).href;
  saved.on('request', (request) => {
    if (request.url() !== url && !request.url().startsWith('data:')) defects.push(`saved page: asks for ${request.url().slice(0, 80)}`);
  });
  saved.on('console', (message) => { if (message.type() === 'error') defects.push(`saved page: console: ${message.text().slice(0, 200)}`); });
  saved.on('pageerror', (error) => defects.push(`saved page: script: ${error.message}`));
  await saved.goto(url, { waitUntil: 'load' });
  check((await saved.textContent('.note-saved')).includes('computed beforehand'), 'the saved page does not say that it was computed beforehand');
  await saved.fill('#guess', '0');
  await saved.click('.lesson form button');
  await saved.waitForSelector('.lesson-picture .replay');
  check((await saved.textContent('#lesson-words')).includes('3 of 3'), 'saved page: the right guess is not scored');
  await saved.click('.lesson-picture button:has-text("Play")');
  await axe(saved, `saved page, ${name}`);
  await width(saved, page.viewportSize().width, `saved page, ${name}`);
  await picture(saved, `saved-${name}`);
  await context.close();
}

async function withMouse(browser) {
  const page = await openPage(browser, { width: 1280, height: 900 }, '1280 px');
  const first = await settled(page, '');
  await drawn(page);
  console.log(`${MODEL}, 50 shifts: ${first.seconds.toFixed(2)} s at loading`);
  await page.evaluate(() => document.querySelectorAll('#form details').forEach((it) => { it.open = true; }));
  await axe(page, 'line, 1280 px');
  await page.evaluate(() => document.querySelectorAll('#form details').forEach((it, place) => { it.open = place === 0; }));
  await width(page, 1280, 'line, 1280 px');
  await picture(page, 'line-1280');

  // A slider.
  const slider = page.locator('#form .value', { hasText: 'Operators' }).locator('input[type=range]');
  await slider.evaluate((it) => { it.value = '1'; it.dispatchEvent(new Event('input', { bubbles: true })); });
  const fewer = await settled(page, first.digest);
  console.log(`${MODEL}, 50 shifts: ${fewer.seconds.toFixed(2)} s after a change, beside the pinned line`);
  check((await page.textContent('#figures thead')).includes('Difference'), 'no difference against the pinned line');
  await picture(page, 'changed-1280');

  // A stop, by a click on the bands.
  await drawn(page);
  const bands = page.locator('#replay .replay-bands');
  await bands.scrollIntoViewIfNeeded();
  const box = await bands.boundingBox();
  for (let y = 10; y < box.height && !(await page.locator('#stops-put-in li').count()); y += 12) {
    await page.mouse.click(box.x + box.width * 0.6, box.y + y);
  }
  check(await page.locator('#stops-put-in li').count() === 1, 'a click on the picture puts no stop in');
  await drawn(page, 1);
  check(/without the stops put in: \S+ (fewer|more)/.test(await page.textContent('#shift-words')), 'the stop tells no difference');
  check((await page.textContent('#view-line pre')).length > 100, 'the wake is not told');
  await page.click('#replay button:has-text("Play")');
  const clock = () => page.textContent('#replay .replay-clock');
  const began = await clock();
  await page.waitForFunction((old) => document.querySelector('#replay .replay-clock').textContent !== old, began);
  await page.click('#replay button:has-text("Pause")');
  await picture(page, 'stop-1280');

  // A wrong model.
  await page.click('nav a[href="#text"]');
  await page.waitForSelector('#text:visible');
  const text = await page.inputValue('#text');
  await page.fill('#text', text.replace(/"operators": \d/, '"operators": "two"'));
  await page.waitForSelector('#text-faults pre');
  const told = await page.textContent('#text-faults');
  check(/Line \d+, column \d+/.test(told) && told.includes('operators') && told.includes('error'), `the error is not told: ${told.slice(0, 200)}`);
  await axe(page, 'text, 1280 px');
  await picture(page, 'text-1280');
  await page.click('#text-faults .places button');
  check(await page.evaluate(() => document.activeElement.id === 'text' && document.activeElement.selectionStart > 0), 'the error does not lead to its place');
  await page.fill('#text', text);
  await page.waitForFunction(() => !document.querySelector('#text-faults pre'));

  // Saving, and the report.
  await page.click('nav a[href="#line"]');
  await page.click('#save');
  await page.waitForFunction(() => document.getElementById('keep-words').textContent.startsWith('Saved as'));
  await page.fill('#shifts', '4');
  await page.locator('#shifts').blur();
  const [report] = await Promise.all([page.waitForEvent('download', { timeout: 120000 }), page.click('#export')]);
  check(report.suggestedFilename().endsWith('-report.html'), 'the report has no name');

  // A long study can be cancelled.
  await page.fill('#shifts', '4000');
  await page.locator('#shifts').blur();
  await page.waitForFunction(() => document.getElementById('progress').value > 0 && !document.getElementById('cancel').disabled);
  await page.click('#cancel');
  await page.waitForFunction(() => document.getElementById('progress-words').textContent === 'cancelled');
  await page.waitForFunction(async () => (await (await fetch('/api/status')).json()).running === 0);
  await page.context().close();
}

async function withKeyboard(browser) {
  const viewport = { width: 390, height: 844 };
  const page = await openPage(browser, viewport, '390 px');
  const first = await settled(page, '');
  await drawn(page);
  await axe(page, 'line, 390 px');
  await width(page, 390, 'line, 390 px');
  await picture(page, 'line-390');
  // A slider.
  if (await tabTo(page, '#form .value input[type=range]')) {
    await page.keyboard.press('ArrowRight');
    await settled(page, first.digest);
    await drawn(page);
  }
  // A stop.
  if (await tabTo(page, '#replay .replay-bands')) {
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => document.querySelectorAll('#stops-put-in li').length === 1);
    await drawn(page, 1);
    check(await page.evaluate(() => document.activeElement?.matches('.replay-bands')), 'the focus is lost when a stop is put in');
    const clock = await page.textContent('#replay .replay-clock');
    await page.keyboard.press(' ');
    await page.waitForFunction((old) => document.querySelector('#replay .replay-clock').textContent !== old, clock);
    await page.keyboard.press(' ');
  }
  // A lesson.
  await page.evaluate(() => document.activeElement.blur());
  await page.evaluate(() => scrollTo(0, 0));
  if (await tabTo(page, 'nav a[href="#lessons"]')) {
    await page.keyboard.press('Enter');
    await page.waitForSelector('#view-lessons:visible');
    if (await tabTo(page, '#guess')) {
      await page.keyboard.type('0');
      await page.keyboard.press('Enter');
      await page.waitForSelector('.lesson-picture .replay', { timeout: 60000 });
      check((await page.textContent('#lesson-words')).includes('3 of 3'), 'the right guess is not scored');
    }
  }
  await axe(page, 'lessons, 390 px');
  await width(page, 390, 'lessons, 390 px');
  await picture(page, 'lessons-390');
  await page.reload({ waitUntil: 'load' });
  await page.waitForSelector('.lesson-list li');
  check((await page.textContent('#lessons-total')).startsWith('1 of'), 'the progress is not kept');
  await page.setViewportSize({ width: 1280, height: 900 });
  await picture(page, 'lessons-1280');
  await saveLessons(page, browser, '1280');
  await page.setViewportSize(viewport);
  await page.context().close();
}

const browser = await launch();
try {
  await withMouse(browser);
  await withKeyboard(browser);
} catch (error) {
  defects.push(`broke off: ${error.stack}`);
} finally {
  await browser.close();
  server.removeAllListeners('exit');
  server.kill('SIGINT');
  rmSync(work, { recursive: true, force: true });
}
console.log(`live page: ${defects.length === 0 ? 'no defect' : `${defects.length} defects`}`);
for (const defect of defects) console.log(`  ${defect}`);
process.exit(defects.length > 0 ? 1 : 0);

// What every page is checked for, on a phone and on a laptop: nothing is fetched and nothing goes wrong, no scrolling
// sideways, no violation that axe-core finds, and a keyboard that reaches every control with a focus that can be seen.
//
// The browser is the one named in LINEWAKE_CHROMIUM, else chromium on the search path.

import { readFile } from 'node:fs/promises';
import { accessSync, constants } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const WIDTHS = [{ name: 'phone', width: 390, height: 844 }, { name: 'laptop', width: 1280, height: 800 }];
// Width between the margins of page.css, in CSS pixels (96 an inch).
export const PAPERS = [{ name: 'A4', width: ((210 - 30) / 25.4) * 96 }, { name: 'Letter', width: (8.5 - 30 / 25.4) * 96 }];
// Rules of axe-core that rest on WCAG 2.2 A and AA, and its best practices.
const AXE_TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

const axeSource = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

function browserPath() {
  const wanted = process.env.LINEWAKE_CHROMIUM;
  const folders = (process.env.PATH ?? '').split(path.delimiter);
  const names = ['chromium', 'chromium-browser', 'google-chrome'];
  const candidates = wanted ? [wanted] : names.flatMap((name) => folders.map((folder) => path.join(folder, name)));
  for (const candidate of candidates) {
    try {
      accessSync(candidate, constants.X_OK);
      return candidate;
    } catch {
      // The next one.
    }
  }
  throw new Error('no browser: install chromium, or name one in LINEWAKE_CHROMIUM');
}

// A page on which every request but that for the report itself is a defect.
export async function open(browser, report, viewport, defects) {
  const context = await browser.newContext({ viewport, offline: false });
  const page = await context.newPage();
  const address = pathToFileURL(path.resolve(report)).href;
  page.on('request', (request) => {
    const url = request.url();
    if (url !== address && !url.startsWith('data:')) defects.push(`asks for ${url}`);
  });
  page.on('console', (message) => {
    if (['error', 'warning'].includes(message.type())) defects.push(`console: ${message.text()}`);
  });
  page.on('pageerror', (error) => defects.push(`script: ${error.message}`));
  await page.goto(address, { waitUntil: 'load' });
  return page;
}

// What may be wider than the page: what lies in a box that scrolls by itself, while it does (in print it does not), but not
// the box; and the link past the head of the page, which is out of view until it has the focus.
const SCROLLERS = '.scroll, pre';
const OUT_OF_VIEW = '.skip:not(:focus)';

// Everything else that can be seen must be within the width, and the page must not scroll sideways.
export async function checkWidth(page, width, defects) {
  const wide = await page.evaluate(({ limit, scrollers, outOfView }) => {
    const found = [];
    const all = document.scrollingElement;
    if (all.scrollWidth > Math.ceil(limit)) found.push(`the page scrolls sideways: ${all.scrollWidth} px`);
    const scrolls = (it) => ['auto', 'scroll'].includes(getComputedStyle(it).overflowX);
    for (const element of document.body.querySelectorAll('*')) {
      if (element.ownerSVGElement || element.matches(outOfView) || !element.checkVisibility()) continue;
      const scroller = element.parentElement.closest(scrollers);
      if (scroller && scrolls(scroller)) continue;
      const box = element.getBoundingClientRect();
      if (box.width > 0 && (box.right > limit + 1 || box.left < -1)) {
        const name = [element.localName, ...element.classList].join('.');
        const words = element.textContent.trim().slice(0, 40);
        found.push(`<${name}> from ${Math.round(box.left)} to ${Math.round(box.right)} px: ${words}`);
      }
    }
    return found.slice(0, 5);
  }, { limit: width, scrollers: SCROLLERS, outOfView: OUT_OF_VIEW });
  defects.push(...wide);
}

export async function checkAccessibility(page, defects) {
  // Injected by the driver, so a policy of the page does not forbid it.
  await page.evaluate(axeSource);
  const { violations, passes } = await page.evaluate(
    (tags) => globalThis.axe.run(document, { runOnly: { type: 'tag', values: tags }, resultTypes: ['violations'] }),
    AXE_TAGS,
  );
  if (passes.length < 10) defects.push(`axe-core looked at ${passes.length} rules only`);
  for (const { id, help, nodes } of violations) {
    const place = (node) => `${node.target.join(' ')} (${node.failureSummary?.split('\n')[1]?.trim()})`;
    const where = nodes.slice(0, 3).map(place).join(', ');
    defects.push(`axe-core ${id}: ${help}; ${nodes.length} places, such as ${where}`);
  }
}

// Tab through the whole page: each control must come once, in view, with a ring that can be seen.
async function checkKeyboard(page, defects) {
  const wanted = await page.evaluate(() => {
    const controls = 'a[href], summary, button, input, select, textarea, [tabindex="0"]';
    const seen = [...document.querySelectorAll(controls)].filter((it) => it.checkVisibility() && !it.disabled);
    // Of radio buttons of one name the keyboard stops at one; arrows reach the others.
    const name = (it) => (it.type === 'radio' ? `radio ${it.name}` : null);
    let number = 0;
    const groups = new Map();
    for (const control of seen) {
      const group = name(control);
      if (group && groups.has(group)) {
        control.dataset.stop = groups.get(group);
      } else {
        control.dataset.stop = String(number);
        if (group) groups.set(group, String(number));
        number += 1;
      }
    }
    return number;
  });
  const reached = new Set();
  for (let step = 0; step < wanted + 5; step += 1) {
    await page.keyboard.press('Tab');
    const at = await page.evaluate(() => {
      const element = document.activeElement;
      if (!element || element === document.body || element === document.documentElement) return null;
      const ring = (it) => {
        const style = it && getComputedStyle(it);
        if (!style) return false;
        const outlined = style.outlineStyle !== 'none' && Number.parseFloat(style.outlineWidth) >= 2;
        return outlined || style.boxShadow !== 'none';
      };
      const label = element.labels?.[0];
      const box = (label ?? element).getBoundingClientRect();
      return {
        stop: element.dataset.stop,
        words: (element.getAttribute('aria-label') ?? element.textContent).trim().slice(0, 40),
        ring: ring(element) || ring(label),
        inView: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
      };
    });
    if (at === null) break;
    if (at.stop === undefined) {
      defects.push(`the keyboard stops at something that is no control: ${at.words}`);
      continue;
    }
    if (reached.has(at.stop)) break;
    reached.add(at.stop);
    if (!at.ring) defects.push(`no visible focus: ${at.words}`);
    if (!at.inView) defects.push(`the focus is out of view: ${at.words}`);
  }
  if (reached.size !== wanted) defects.push(`the keyboard reaches ${reached.size} of ${wanted} controls`);
}

// A folded table opens and shuts with the keyboard.
async function checkFolding(page, defects) {
  const folded = page.locator('details > summary').first();
  if ((await folded.count()) === 0) return;
  const isOpen = () => folded.evaluate((it) => it.parentElement.open);
  const before = await isOpen();
  await folded.focus();
  await page.keyboard.press('Enter');
  if ((await isOpen()) === before) defects.push('a folded table does not open with the keyboard');
  await page.keyboard.press('Enter');
}

// What every page is checked for at one width, with all that is folded away unfolded.
export async function checkPage(page, width, defects) {
  await page.evaluate(() => document.querySelectorAll('details').forEach((it) => it.setAttribute('open', '')));
  await checkWidth(page, width, defects);
  await checkKeyboard(page, defects);
  await checkAccessibility(page, defects);
  await checkFolding(page, defects);
}

// Checks each file of the command line: `atWidth(browser, file, viewport, defects)` on the phone and on the laptop, then
// `whole(browser, file, defects)` once. Prints what was found, and ends the program with 1 if that is anything.
export async function checkFiles(usage, atWidth, whole) {
  const files = process.argv.slice(2);
  if (files.length === 0) {
    console.error(usage);
    process.exit(2);
  }
  const browser = await launch();
  let failed = false;
  try {
    for (const file of files) {
      const defects = [];
      for (const { name, ...viewport } of WIDTHS) {
        const found = [];
        await atWidth(browser, file, viewport, found);
        defects.push(...found.map((defect) => `${name}: ${defect}`));
      }
      await whole(browser, file, defects);
      failed ||= defects.length > 0;
      console.log(`${file}: ${defects.length === 0 ? 'no defect' : `${defects.length} defects`}`);
      for (const defect of defects) console.log(`  ${defect}`);
    }
  } finally {
    await browser.close();
  }
  process.exit(failed ? 1 : 0);
}

// A browser without what it does by itself.
export function launch() {
  const sandbox = process.getuid?.() === 0 ? ['--no-sandbox'] : [];
  const quiet = ['--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
    '--disable-component-update', '--disable-sync'];
  return chromium.launch({ executablePath: browserPath(), args: [...sandbox, ...quiet] });
}

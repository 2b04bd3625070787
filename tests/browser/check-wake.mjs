// Opens pages of a wake in a browser, as their readers do, and fails with every defect that it finds.
//
//   node check-wake.mjs WAKE.html...
//
// Beside what every page is checked for: it plays and pauses, steps, is dragged along its time axis, zooms and pans by
// keyboard and wheel; the values beside it change with the cursor; what it draws is not blank, and every piece stands
// within the picture. Without script the still picture and the tables are there; in print nothing is wider than the paper.

import { PAPERS, checkFiles, checkPage, checkWidth, open } from './page-checks.mjs';

const now = (page) => page.locator('.replay-bands').getAttribute('aria-valuenow').then(Number);

// Colours on a canvas that are not clear: none on a blank one.
const colours = (page, selector) => page.evaluate((which) => {
  const canvas = document.querySelector(which);
  const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
  const found = new Set();
  for (let at = 0; at < data.length; at += 4) {
    if (data[at + 3] === 255) found.add((data[at] << 16) | (data[at + 1] << 8) | data[at + 2]);
  }
  return found.size;
}, selector);

async function checkPlay(page, defects) {
  const before = await now(page);
  await page.getByRole('button', { name: 'Play', exact: true }).click();
  await page.waitForFunction((start) => Number(document.querySelector('.replay-bands').getAttribute('aria-valuenow')) > start + 1, before, { timeout: 15000 })
    .catch(() => defects.push('it does not play'));
  await page.getByRole('button', { name: 'Pause', exact: true }).click();
  const paused = await now(page);
  await page.waitForTimeout(200);
  if ((await now(page)) !== paused) defects.push('it does not pause');
  await page.getByRole('button', { name: 'One step on' }).click();
  const ahead = await now(page);
  if (ahead <= paused) defects.push('a step on does not go on');
  await page.getByRole('button', { name: 'One step back' }).click();
  if ((await now(page)) >= ahead) defects.push('a step back does not go back');
}

async function checkDrag(page, defects) {
  const bands = page.locator('.replay-bands');
  await bands.scrollIntoViewIfNeeded();
  const box = await bands.boundingBox();
  const y = box.y + box.height - 8;
  if (y > page.viewportSize().height) await page.mouse.wheel(0, y - page.viewportSize().height + 60);
  const place = await bands.boundingBox();
  const axis = place.y + place.height - 8;
  await page.mouse.move(place.x + place.width * 0.55, axis);
  await page.mouse.down();
  const first = await now(page);
  await page.mouse.move(place.x + place.width * 0.8, axis, { steps: 5 });
  const second = await now(page);
  await page.mouse.up();
  if (!(second > first + 10)) defects.push(`dragging the axis moves the cursor from ${first} s to ${second} s`);
  return second;
}

// A pixel of the bands in seconds, read off the keyboard's step.
async function step(page) {
  const before = await now(page);
  await page.keyboard.press('Shift+ArrowRight');
  return (await now(page)) - before;
}

async function checkKeys(page, defects) {
  const bands = page.locator('.replay-bands');
  await bands.focus();
  const coarse = await step(page);
  await page.keyboard.press('+');
  await page.keyboard.press('+');
  const fine = await step(page);
  if (!(fine > 0 && fine < coarse / 3 + 0.2)) defects.push(`zooming by keyboard: steps of ${coarse} s, then ${fine} s`);
  await page.keyboard.press('PageDown');
  await page.keyboard.press('0');
  const whole = await step(page);
  if (!(whole > coarse)) defects.push('key 0 does not show the whole run');
  await page.keyboard.press('Home');
  if ((await now(page)) !== Number(await bands.getAttribute('aria-valuemin'))) defects.push('Home does not go to the start');
  await page.keyboard.press(' ');
  await page.waitForTimeout(150);
  await page.keyboard.press(' ');
  if (!((await now(page)) > 0)) defects.push('Space does not play');
  await page.getByRole('button', { name: 'The stop' }).click();
}

async function checkWheel(page, defects) {
  const bands = page.locator('.replay-bands');
  const box = await bands.boundingBox();
  await bands.focus();
  const before = await step(page);
  await page.mouse.move(box.x + box.width / 2, Math.min(box.y + 40, page.viewportSize().height - 5));
  await page.keyboard.down('Control');
  await page.mouse.wheel(0, -120);
  await page.keyboard.up('Control');
  await page.waitForTimeout(50);
  const after = await step(page);
  if (!(after < before)) defects.push(`the wheel does not zoom: steps of ${before} s, then ${after} s`);
}

async function checkValues(page, defects) {
  const text = () => page.locator('.replay-values').innerText();
  await page.getByRole('button', { name: 'The stop' }).click();
  const atStop = await text();
  if (!atStop.includes('stopped: injected')) defects.push('the values at the stop do not name it');
  await page.locator('.replay-bands').focus();
  await page.keyboard.press('Home');
  if ((await text()) === atStop) defects.push('the values do not follow the cursor');
  await page.getByRole('button', { name: 'The stop' }).click();
}

// Of the places that the page works out, each is a piece of its own, and all are in the picture.
async function checkPlaces(page, defects) {
  const found = await page.evaluate(() => {
    const { data, placesAt } = window.linewakeReplay;
    const wrong = [];
    let pieces = 0;
    for (let part = 0; part <= 20; part += 1) {
      const t = Math.round(data.window_start_us + ((data.window_end_us - data.window_start_us) * part) / 20);
      const places = placesAt(t);
      pieces += places.length;
      const keys = new Set(places.map((it) => JSON.stringify([it.station, it.spot, it.along, it.position, it.lane, it.row, it.before])));
      const single = places.filter((it) => !['along', 'array'].includes(it.spot)).length;
      if (keys.size < single) wrong.push(`two pieces in one place at ${t} us`);
      if (places.some((it) => it.along < 0 || it.along > 1)) wrong.push(`a piece beyond its belt at ${t} us`);
    }
    return { wrong, pieces };
  });
  defects.push(...found.wrong);
  if (found.pieces < 100) defects.push(`only ${found.pieces} pieces are drawn`);
}

async function checkWithoutScript(browser, report, defects) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(new URL(`file://${report.startsWith('/') ? report : `${process.cwd()}/${report}`}`).href);
  if (!(await page.locator('#replay svg').first().isVisible())) defects.push('without script there is no still picture');
  if ((await page.locator('table').count()) < 4) defects.push('without script tables are missing');
  await context.close();
}

async function checkPrint(browser, report, defects) {
  for (const { name, width } of PAPERS) {
    const found = [];
    const page = await open(browser, report, { width: Math.floor(width), height: 1000 }, found);
    await page.emulateMedia({ media: 'print' });
    await checkWidth(page, Math.floor(width), found);
    if (!(await page.locator('#replay svg').first().isVisible())) found.push('the still picture is not printed');
    await page.context().close();
    defects.push(...found.map((defect) => `${name}: ${defect}`));
  }
}

await checkFiles('which pages? node check-wake.mjs WAKE.html...', async (browser, report, viewport, defects) => {
  const page = await open(browser, report, viewport, defects);
  await page.locator('.replay-bands canvas').first().waitFor();
  for (const canvas of ['.replay-picture', '.replay-still', '.replay-over']) {
    if ((await colours(page, canvas)) < 1) defects.push(`${canvas} is blank`);
  }
  await checkPlay(page, defects);
  await checkDrag(page, defects);
  await checkKeys(page, defects);
  await checkWheel(page, defects);
  await checkValues(page, defects);
  await checkPlaces(page, defects);
  await page.context().close();
  const fresh = await open(browser, report, viewport, defects);
  await checkPage(fresh, viewport.width, defects);
  await fresh.context().close();
}, async (browser, report, defects) => {
  await checkWithoutScript(browser, report, defects);
  await checkPrint(browser, report, defects);
});

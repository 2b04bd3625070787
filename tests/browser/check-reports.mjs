// Opens reports in a browser, as their readers do, and fails with every defect that it finds.
//
//   node check-reports.mjs REPORT.html...
//
// Of each report, on a phone (390 px wide) and on a laptop (1280 px wide): nothing is fetched and nothing goes wrong, the
// page does not scroll sideways, axe-core finds no violation, and the keyboard reaches every control, with a focus that
// can be seen. In print, on A4 and on Letter: the first sheet takes exactly one page, and nothing is wider than the paper.
// A page that answers one question (a study, weights) has a heading of its own and no first sheet.

import { PAPERS, checkFiles, checkPage, checkWidth, open } from './page-checks.mjs';

const pagesOf = (pdf) => (pdf.toString('latin1').match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;

async function checkPrint(browser, report, defects) {
  for (const { name, width } of PAPERS) {
    const found = [];
    const page = await open(browser, report, { width: Math.floor(width), height: 1000 }, found);
    await page.emulateMedia({ media: 'print' });
    await checkWidth(page, Math.floor(width), found);
    if (await page.locator('header.study').count() > 0) {
      await page.context().close();
      defects.push(...found.map((defect) => `${name}: ${defect}`));
      continue;
    }
    // The sheet by itself: where it takes one page, the page break behind it does the rest.
    const breaks = await page.evaluate(() => {
      const sheet = document.querySelector('.sheet');
      for (const other of [...document.body.querySelectorAll('*')]) {
        if (!other.contains(sheet) && !sheet.contains(other)) other.remove();
      }
      const { breakAfter } = getComputedStyle(sheet);
      sheet.style.breakAfter = 'auto';
      return breakAfter;
    });
    const alone = pagesOf(await page.pdf({ format: name }));
    if (breaks !== 'page') found.push('no page break after the first sheet');
    if (alone !== 1) found.push(`the first sheet takes ${alone} pages`);
    await page.context().close();
    defects.push(...found.map((defect) => `${name}: ${defect}`));
  }
}

await checkFiles('which reports? node check-reports.mjs REPORT.html...', async (browser, report, viewport, defects) => {
  const page = await open(browser, report, viewport, defects);
  await checkPage(page, viewport.width, defects);
  await page.context().close();
}, checkPrint);

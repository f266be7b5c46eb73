// SPDX-License-Identifier: GPL-3.0-or-later
// What pages.sh looks at in a browser: node pages.js CHROMIUM OUT PICTURES. Each test is a row of the table below.
'use strict';

const fs = require('fs');
const path = require('path');
const { chromium } = require('playwright-core');

const [executablePath, out, pictures] = process.argv.slice(2);
const HOSTILE = '<img src=x onerror=alert(1)> & "co"';
const WIDTHS = [1920, 1280, 390];
const SCHEMES = ['light', 'dark'];
const TIMEOUT_MS = 120000; // of a loaded machine; nothing here judges by time

const page = (state, name) => path.join(out, state, name);
let failures = 0;

function check(good, what) {
  if (good) return;
  failures++;
  console.log(`pages: wrong: ${what}`);
}

// A page in a context of its own; whatever it complains of or asks for is a failure.
async function open(browser, file, options, before) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const tab = await context.newPage();
  tab.setDefaultTimeout(TIMEOUT_MS);
  const url = 'file://' + file.split('/').map(encodeURIComponent).join('/');
  tab.on('console', (m) => check(false, `${file}: console: ${m.text()}`));
  tab.on('pageerror', (e) => check(false, `${file}: error: ${e}`));
  tab.on('dialog', (d) => check(false, `${file}: dialog: ${d.message()}`) || d.dismiss());
  tab.on('request', (r) => check(r.url() === url, `${file}: asks for ${r.url()}`));
  if (before) await before(tab);
  await tab.goto(url, { waitUntil: 'load', timeout: TIMEOUT_MS });
  return { tab, close: () => context.close() };
}

// The least contrast of any text with what is behind it (WCAG 2.1, relative luminance and contrast ratio), beside what
// its size asks for.
function contrasts() {
  const channel = (c) => (c <= 0.03928 ? c / 12.92 : Math.pow((c + 0.055) / 1.055, 2.4));
  const parse = (text) => (text.match(/[\d.]+/g) || []).map(Number);
  const luminance = (c) => 0.2126 * channel(c[0] / 255) + 0.7152 * channel(c[1] / 255) + 0.0722 * channel(c[2] / 255);
  const behind = function (e) {
    for (; e; e = e.parentElement) {
      const c = parse(getComputedStyle(e).backgroundColor);
      if (c.length === 3 || c[3] === 1) return c;
    }
    return [255, 255, 255];
  };
  let least = { ratio: 99, text: '' };
  const bad = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const e = node.parentElement;
    if (!node.data.trim() || !e.getClientRects().length || e.closest('script,style')) continue;
    const style = getComputedStyle(e);
    const svg = e.namespaceURI.endsWith('svg');
    const bubble = svg && e.closest('.fk') && e.parentNode.querySelector('circle');
    const fore = luminance(parse(svg ? style.fill : style.color));
    const back = luminance(bubble ? parse(getComputedStyle(bubble).fill) : behind(e));
    const ratio = (Math.max(fore, back) + 0.05) / (Math.min(fore, back) + 0.05);
    if (ratio < least.ratio) least = { ratio, text: node.data.trim().slice(0, 30) };
    if (ratio < 4.5) bad.push(node.data.trim().slice(0, 30));
  }
  return { least, bad };
}

async function looks(browser) {
  let least = 99;
  for (const name of ['record.html', 'bench.html']) {
    for (const width of WIDTHS) {
      for (const colorScheme of SCHEMES) {
        const { tab, close } = await open(browser, page('open', name), { viewport: { width, height: 900 }, colorScheme });
        const wide = await tab.evaluate(() => document.documentElement.scrollWidth);
        check(wide <= width, `${name} is ${wide} wide on ${width}`);
        const found = await tab.evaluate(contrasts);
        check(found.bad.length === 0, `${name}, ${colorScheme}: little contrast: ${found.bad.slice(0, 3)}`);
        least = Math.min(least, found.least.ratio);
        await close();
      }
    }
  }
  return `least contrast of any text, light and dark: ${least.toFixed(2)} to 1`;
}

const rowsShown = (tab) =>
  tab.evaluate(() => Array.from(document.querySelectorAll('.overview tbody tr:not([hidden])'), (r) => Array.from(r.cells, (c) => c.textContent)));

async function sortingAndFiltering(browser) {
  const { tab, close } = await open(browser, page('closed', 'record.html'));
  const order = new Intl.Collator(undefined, { numeric: true }).compare;
  const before = await rowsShown(tab);
  for (const [i, head] of [[0, 'Sample'], [3, 'Verdict']]) {
    const button = tab.locator('.overview thead th').nth(i).getByRole('button', { name: head });
    for (const direction of ['ascending', 'descending']) {
      await button.click();
      const sort = await tab.locator('.overview thead th').nth(i).getAttribute('aria-sort');
      check(sort === direction, `${head} is sorted ${sort}, not ${direction}`);
      const shown = (await rowsShown(tab)).map((r) => r[i]);
      const wanted = before.map((r) => r[i]).sort(order);
      if (direction === 'descending') wanted.reverse();
      check(shown.join('|') === wanted.join('|'), `${head} is not in ${direction} order`);
    }
  }
  await tab.getByRole('searchbox').fill('remake sugar');
  const some = await rowsShown(tab);
  const wanted = before.filter((r) => /remake/.test(r.join()) && /sugar/.test(r.join()));
  check(some.length === wanted.length && some.length > 0, `filtering shows ${some.length} of ${wanted.length} lines`);
  const said = await tab.locator('.tools output').textContent();
  check(said === `${some.length} of ${before.length} lines`, `filtering says "${said}"`);
  await tab.getByRole('searchbox').fill('');
  check((await rowsShown(tab)).length === before.length, 'lines stay hidden when the filter is empty');
  await close();
  return `sorting and filtering of ${before.length} lines`;
}

// The cursor is held against the verdict's own words: "strongest band 0.787 A at 1689 cm-1".
async function cursorAndZoom(browser) {
  const { tab, close } = await open(browser, page('closed', 'record.html'));
  const section = tab.locator('section.attempts', { has: tab.locator('h3', { hasText: /^acid-C$/ }) });
  const figure = section.locator('figure').first();
  const drawing = figure.locator('.f');
  const plot = figure.locator('.p');
  await drawing.scrollIntoViewIfNeeded();
  const words = (await section.textContent()).match(/strongest band ([\d.]+) A at (\d+) cm-1/).slice(1).map(Number);
  const axes = (await plot.getAttribute('data-axes')).split(' ').map(Number);
  const box = await drawing.boundingBox();
  const scale = box.width / 800;
  const toX = (nu) => box.x + scale * (50 + (736 * (axes[0] - nu)) / (axes[0] - axes[1]));
  const y = box.y + scale * 150;
  const reading = async () => (await figure.locator('.read').textContent()).match(/^(\d+) cm\S+, (\S+) A$/).slice(1).map(Number);

  await tab.mouse.move(toX(words[1]), y);
  let read = await reading();
  check(Math.abs(read[0] - words[1]) <= 5, `the cursor reads ${read[0]} cm-1 at ${words[1]}`);
  // The height is told above the baseline, the cursor reads the whole: it can only be a little more.
  check(read[1] > words[0] - 0.05 && read[1] < words[0] + 0.15, `the cursor reads ${read[1]} A where ${words[0]} A stand`);

  await tab.mouse.move(toX(1800), y);
  await tab.mouse.down();
  await tab.mouse.move(toX(1500), y, { steps: 5 });
  await tab.mouse.up();
  const view = (await plot.getAttribute('viewBox')).split(' ').map(Number);
  check(Math.abs(view[2] - (736 * 300) / 3600) < 3, `dragging over 300 cm-1 shows ${view[2]} units`);
  await tab.mouse.move(box.x + scale * (50 + 368), y);
  read = await reading();
  check(Math.abs(read[0] - 1650) <= 6, `the middle of 1800 to 1500 reads ${read[0]}`);
  const numbers = await drawing.locator(':scope > g:last-child text').allTextContents();
  check(numbers.length >= 4 && numbers.every((n) => Number(n) >= 1490 && Number(n) <= 1810), `the axis says ${numbers}`);
  await drawing.dblclick();
  check((await plot.getAttribute('viewBox')) === '0 0 736 250', 'a double click does not show the whole');

  await drawing.focus();
  await tab.keyboard.press('+');
  check((await plot.getAttribute('viewBox')).split(' ')[2] === '368', 'the key + does not enlarge');
  const at = (await reading())[0];
  await tab.keyboard.press('ArrowRight');
  check((await reading())[0] < at, 'the right arrow does not go to lower wavenumbers');
  await tab.keyboard.press('0');
  check((await plot.getAttribute('viewBox')) === '0 0 736 250', 'the key 0 does not show the whole');
  await close();
  return `cursor on a band of ${words[0]} A at ${words[1]} cm-1, zoom by drag and by key`;
}

async function withoutScript(browser) {
  const count = () => ['figure', 'section', 'tr', 'h2', 'h3', 'li'].map((e) => document.querySelectorAll(e).length);
  const counts = [];
  for (const javaScriptEnabled of [true, false]) {
    const { tab, close } = await open(browser, page('closed', 'record.html'), { javaScriptEnabled });
    counts.push((await tab.evaluate(count)).join());
    if (!javaScriptEnabled) check((await tab.locator('main [hidden]').count()) === 0, 'something is hidden without script');
    await close();
  }
  check(counts[0] === counts[1], `with script ${counts[0]}, without ${counts[1]}`);
  return 'the record is complete without script';
}

async function hostileNames(browser) {
  for (const name of ['record.html', 'bench.html']) {
    const { tab, close } = await open(browser, page('closed', name));
    check((await tab.locator('img').count()) === 0, `${name}: a name became markup`);
    check((await tab.locator('main').innerText()).includes(HOSTILE), `${name}: the hostile name is not shown as text`);
    await close();
  }
  const file = fs.readdirSync(pictures).find((f) => f.startsWith('<img'));
  const { tab, close } = await open(browser, path.join(pictures, file));
  check((await tab.evaluate(() => document.documentElement.textContent)).includes(HOSTILE), 'the picture does not show the name');
  await close();
  return 'a hostile name is text in record, bench page and picture';
}

// Roles that are nothing to a screen reader without a name.
const NAMED = ['image', 'button', 'link', 'searchbox', 'heading', 'alert'];

async function accessibility(browser) {
  let nodes = 0;
  for (const name of ['record.html', 'bench.html']) {
    const { tab, close } = await open(browser, page('closed', name));
    const session = await tab.context().newCDPSession(tab);
    const tree = (await session.send('Accessibility.getFullAXTree')).nodes.filter((n) => !n.ignored);
    nodes += tree.length;
    for (const n of tree) {
      const role = n.role && n.role.value;
      if (NAMED.includes(role)) check(n.name && n.name.value.trim() !== '', `${name}: a ${role} has no name`);
    }
    const levels = await tab.evaluate(() => Array.from(document.querySelectorAll('h1,h2,h3,h4,h5,h6'), (h) => Number(h.tagName[1])));
    check(levels[0] === 1 && levels.filter((l) => l === 1).length === 1, `${name}: headings begin ${levels.slice(0, 3)}`);
    for (let i = 1; i < levels.length; i++) check(levels[i] <= levels[i - 1] + 1, `${name}: heading ${i} skips a level`);
    check((await tab.getByRole('main').count()) === 1, `${name}: no main landmark`);
    check((await tab.locator('html[lang]').count()) === 1, `${name}: no language`);
    await close();
  }
  return `${nodes} nodes of the accessibility tree: names and the order of headings`;
}

// The reader's clock is set: the page was written so many minutes before.
async function benchStates(browser) {
  for (const [state, minutes, wanted] of [
    ['open', 1, null],
    ['open', 3, /is 3 min old/],
    ['open', 600, /is 600 min old/],
    ['stopped', 1, /was stopped/],
    ['stopped', 600, /was stopped/],
    ['closed', 600, null],
  ]) {
    const file = page(state, 'bench.html');
    const written = Number(fs.readFileSync(file, 'utf8').match(/data-written="(\d+)"/)[1]);
    const { tab, close } = await open(browser, file, {}, (t) => t.clock.setFixedTime(written + minutes * 60000));
    const said = await tab.getByRole('alert').allInnerTexts();
    const right = wanted ? said.length === 1 && wanted.test(said[0]) : said.length === 0;
    check(right, `bench page, ${state}, after ${minutes} min: says "${said}"`);
    await close();
  }
  const short = fs.statSync(page('closed', 'bench.html')).size;
  const long = fs.statSync(page('long', 'bench.html')).size;
  check(long < 1.5 * short, `the bench page grows from ${short} to ${long} bytes`);
  return `bench page fresh, stale, stopped and closed; ${short} bytes for a short session, ${long} for a long one`;
}

async function printing(browser) {
  const { tab, close } = await open(browser, page('closed', 'record.html'));
  const pdf = await tab.pdf({ preferCSSPageSize: true, format: 'A4', timeout: TIMEOUT_MS });
  const pages = pdf.toString('latin1').match(/\/Type \/Page\b/g).length;
  check(pages > 5, `the record prints on ${pages} pages`);
  await close();
  return `the record prints on ${pages} pages`;
}

async function longRecord(browser) {
  const file = page('long', 'record.html');
  const bytes = fs.statSync(file).size;
  check(bytes < 20e6, `the record of 2000 pellets has ${bytes} bytes`);
  const times = [];
  for (let i = 0; i < 3; i++) {
    const { tab, close } = await open(browser, page('open', 'bench.html'));
    tab.removeAllListeners('request');
    const begun = Date.now();
    await tab.goto('file://' + file, { waitUntil: 'load', timeout: TIMEOUT_MS });
    await tab.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
    times.push((Date.now() - begun) / 1000);
    if (i === 0) check((await tab.locator('.overview tbody tr').count()) === 2000, 'the long record is not whole');
    await close();
  }
  return `2000 pellets: ${(bytes / 1e6).toFixed(1)} MB, open and drawn in ${times.map((t) => t.toFixed(1)).join(', ')} s`;
}

const tests = [
  looks,
  sortingAndFiltering,
  cursorAndZoom,
  withoutScript,
  hostileNames,
  accessibility,
  benchStates,
  printing,
  longRecord,
];

(async function () {
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  for (const test of tests) {
    try {
      console.log(`pages: ${await test(browser)}`);
    } catch (error) {
      check(false, `${test.name}: ${error.message.split('\n')[0]}`);
    }
  }
  await browser.close();
  console.log(`pages: ${failures} things are wrong`);
  process.exit(failures > 0 ? 1 : 0);
})();

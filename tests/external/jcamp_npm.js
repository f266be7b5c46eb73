// SPDX-License-Identifier: GPL-3.0-or-later
// The other side of jcamp_npm.sh: an independent reader reads our files, an independent writer writes files for us.
'use strict';

const fs = require('fs');
const path = require('path');
const { execFileSync } = require('child_process');
const { convert } = require('jcampconverter');
const { fromJSON } = require('convert-to-jcamp');

const [folder, exchange, count] = process.argv.slice(2);
let seed = 20260304;
let failures = 0;

// Source: S. K. Park, K. W. Miller, Commun. ACM 31, 1192 (1988).
function uniform() {
  seed = (seed * 48271) % 2147483647;
  return seed / 2147483647;
}

function fail(what) {
  if (failures++ < 20) console.log(what);
}

function readNumbers(file) {
  return fs
    .readFileSync(file, 'utf8')
    .trim()
    .split('\n')
    .map((line) => line.split(' ').map(Number));
}

// Ours, read by them.
function theyRead(i) {
  const expected = readNumbers(path.join(folder, `ours-${i}.txt`));
  const text = fs.readFileSync(path.join(folder, `ours-${i}.jdx`), 'utf8');
  const { x, y } = convert(text, { noContour: true }).flatten[0].spectra[0].data;
  if (x.length !== expected.length) return fail(`ours-${i}: they read ${x.length} of ${expected.length} points`);
  const off = (a, column) => Math.max(...expected.map((row, k) => Math.abs(row[column] - a[k])));
  if (off(x, 0) > 1e-5 || off(y, 1) > 1e-7) fail(`ours-${i}: off by ${off(x, 0)} in x, ${off(y, 1)} in y`);
}

// Theirs, read by us, in each of their encodings.
function weRead(i, xyEncoding) {
  const n = 60 + Math.floor(uniform() * 2000);
  const first = 400 + 10 * uniform();
  const step = 1 + uniform();
  const x = Array.from({ length: n }, (_, k) => first + k * step);
  const y = x.map((v) => Math.round((Math.sin(v / 50) + 0.1 * uniform()) * 1e6) / 1e6);
  const info = { title: 'theirs', dataType: 'INFRARED SPECTRUM', xUnits: '1/CM', yUnits: 'ABSORBANCE' };
  const text = fromJSON({ x, y }, { xyEncoding, info });
  const base = path.join(folder, `theirs-${xyEncoding || 'points'}-${i}`);
  fs.writeFileSync(`${base}.jdx`, text);
  fs.writeFileSync(`${base}.txt`, x.map((v, k) => `${v} ${y[k]}\n`).join(''));
  try {
    execFileSync(exchange, ['check', `${base}.jdx`, `${base}.txt`], { encoding: 'utf8' });
  } catch (error) {
    fail(error.stdout.trim() || String(error));
  }
}

const encodings = ['FIX', 'PAC', 'SQZ', 'DIF', 'DIFDUP'];
for (let i = 0; i < Number(count); i++) theyRead(i);
for (const encoding of encodings) for (let i = 0; i < Number(count); i++) weRead(i, encoding);
console.log(
  `${count} of our files read by jcampconverter, ${Number(count) * encodings.length} of convert-to-jcamp's by us, ` +
    `${failures} differences`,
);
process.exit(failures > 0 ? 1 : 0);

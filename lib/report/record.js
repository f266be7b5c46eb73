// SPDX-License-Identifier: GPL-3.0-or-later
// The record is complete without this: it adds sorting, filtering, and a cursor and zoom for the spectra.
'use strict';
(function () {
  // A new last child, of the parent's own kind: HTML or SVG.
  const make = function (parent, name, attributes) {
    const e = document.createElementNS(parent.namespaceURI, name);
    for (const key of Object.keys(attributes)) e.setAttribute(key, attributes[key]);
    parent.appendChild(e);
    return e;
  };

  // ---------------------------------------------------------------- the overview

  // A long list comes in several tables, joined before the first use.
  const tables = Array.from(document.querySelectorAll('.overview'));
  const body = tables[0].tBodies[0];
  const heads = Array.from(tables[0].tHead.rows[0].cells);
  const count = tables.reduce((sum, table) => sum + table.tBodies[0].rows.length, 0);
  const join = function () {
    for (const table of tables.splice(1)) {
      body.append(...table.tBodies[0].rows);
      table.parentNode.remove();
    }
  };
  const key = (row, i) => row.cells[i].dataset.k || row.cells[i].textContent;

  const sort = function (head, i) {
    join();
    const up = head.getAttribute('aria-sort') !== 'ascending';
    const order = new Intl.Collator(undefined, { numeric: true }).compare;
    const rows = Array.from(body.rows, (row) => [key(row, i), row]);
    rows.sort((a, b) => (up ? order(a[0], b[0]) : order(b[0], a[0])));
    for (const h of heads) h.removeAttribute('aria-sort');
    head.setAttribute('aria-sort', up ? 'ascending' : 'descending');
    body.append(...rows.map((r) => r[1]));
  };
  heads.forEach(function (head, i) {
    const name = head.textContent;
    head.textContent = '';
    const button = make(head, 'button', { type: 'button' });
    button.textContent = name;
    button.addEventListener('click', () => sort(head, i));
  });

  const tools = document.querySelector('.tools');
  const label = make(tools, 'label', {});
  label.textContent = tools.dataset.label + ' ';
  const input = make(label, 'input', { type: 'search' });
  const lines = make(tools, 'output', { class: 'quiet' });
  const say = function (shown) {
    lines.textContent = tools.dataset.lines.replace('#', String(shown)).replace('#', String(count));
  };
  const filter = function () {
    join();
    const wanted = input.value.toLowerCase().split(' ');
    let shown = 0;
    for (const row of body.rows) {
      const text = row.textContent.toLowerCase();
      row.hidden = !wanted.every((word) => text.includes(word));
      if (!row.hidden) shown++;
    }
    say(shown);
  };
  input.addEventListener('input', filter);
  say(count);

  // ---------------------------------------------------------------- a spectrum: cursor and zoom

  const WIDTH = 736;
  const HEIGHT = 250;
  const LEFT = 50;
  const TOP = 24;
  const CURVE_SCALE = 2;

  // The corners of a curve, [x, y] in units of the plot; null where the pen was lifted.
  const corners = function (d) {
    const points = [];
    let x = 0;
    let y = 0;
    for (const part of d.match(/[Ml][^Ml]*/g) || []) {
      const n = part.slice(1).match(/-?\d+/g).map(Number);
      if (part[0] === 'M') points.push(null);
      for (let i = 0; i < n.length; i += 2) {
        x = part[0] === 'M' ? n[i] : x + n[i];
        y = part[0] === 'M' ? n[i + 1] : y + n[i + 1];
        points.push([x / CURVE_SCALE, y / CURVE_SCALE]);
      }
    }
    return points;
  };

  // The curve's height at x, NaN in a gap.
  const heightAt = function (points, x) {
    for (let i = 1; i < points.length; i++) {
      const a = points[i - 1];
      const b = points[i];
      if (a && b && a[0] <= x && x <= b[0]) return b[0] > a[0] ? a[1] + ((x - a[0]) * (b[1] - a[1])) / (b[0] - a[0]) : b[1];
    }
    return NaN;
  };

  const views = new WeakMap();

  // What is known of a drawing once it was touched.
  const viewOf = function (drawing) {
    if (views.has(drawing)) return views.get(drawing);
    const plot = drawing.querySelector('.p');
    const axes = plot.dataset.axes.split(' ').map(Number);
    const read = make(drawing.parentNode, 'output', { class: 'read' });
    const zone = make(plot, 'rect', { class: 'fr', height: HEIGHT, width: 0 });
    const line = make(plot, 'path', { class: 'fh', d: 'M0 0v' + HEIGHT, visibility: 'hidden' });
    const marks = Array.from(drawing.querySelectorAll('.fk'), function (mark) {
      const at = mark.getAttribute('transform').match(/[\d.]+/g).map(Number);
      return { mark: mark, x: at[0] - LEFT, y: at[1] };
    });
    const whole = drawing.querySelector('.x');
    const part = make(drawing, 'g', {});
    const view = { plot, axes, read, zone, line, marks, whole, part, x: 0, width: WIDTH, at: WIDTH / 2 };
    view.points = corners(plot.querySelector('.fc').getAttribute('d'));
    views.set(drawing, view);
    return view;
  };
  const wavenumber = (view, x) => view.axes[0] - (x / WIDTH) * (view.axes[0] - view.axes[1]);

  const point = function (view, x) {
    view.at = Math.min(view.x + view.width, Math.max(view.x, x));
    const y = heightAt(view.points, view.at);
    const a = view.axes[3] - (y / HEIGHT) * (view.axes[3] - view.axes[2]);
    view.line.setAttribute('visibility', 'visible');
    view.line.setAttribute('transform', 'translate(' + view.at + ' 0)');
    view.read.textContent =
      wavenumber(view, view.at).toFixed(0) + ' cm\u207b\u00b9, ' + (isNaN(y) ? '\u2013' : a.toFixed(2) + ' A');
  };

  // Round steps of 1, 2 and 5 for at most eight numbers on the axis.
  const ticks = function (view) {
    const left = wavenumber(view, view.x);
    const right = wavenumber(view, view.x + view.width);
    const decade = Math.pow(10, Math.floor(Math.log10((left - right) / 8)));
    const step = decade * [1, 2, 5, 10].find((m) => (left - right) / (m * decade) <= 8);
    const bottom = TOP + HEIGHT;
    make(view.part, 'path', { class: 'fa', d: 'M' + LEFT + ' ' + bottom + 'h' + WIDTH });
    const group = make(view.part, 'g', { class: 'fm' });
    for (let nu = Math.ceil(right / step) * step; nu <= left; nu += step) {
      const x = LEFT + (WIDTH * (left - nu)) / (left - right);
      make(view.part, 'path', { class: 'fa', d: 'M' + x + ' ' + bottom + 'v7' });
      make(group, 'text', { x: x, y: bottom + 20 }).textContent = String(Math.round(nu * 10) / 10);
    }
  };

  const show = function (view, x, width) {
    view.width = Math.min(WIDTH, Math.max(WIDTH / 100, width));
    view.x = Math.min(WIDTH - view.width, Math.max(0, x));
    view.plot.setAttribute('viewBox', [view.x, 0, view.width, HEIGHT].join(' '));
    view.whole.setAttribute('display', view.width < WIDTH ? 'none' : 'inline');
    view.part.textContent = '';
    if (view.width < WIDTH) ticks(view);
    for (const m of view.marks) {
      const place = ((m.x - view.x) / view.width) * WIDTH;
      m.mark.setAttribute('transform', 'translate(' + (LEFT + place) + ' ' + m.y + ')');
      m.mark.setAttribute('visibility', place < 0 || place > WIDTH ? 'hidden' : 'visible');
    }
    point(view, view.at);
  };

  const drawingOf = (event) => event.target.closest && event.target.closest('figure .f');
  const placeOf = function (view, drawing, event) {
    const box = drawing.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * drawing.viewBox.baseVal.width - LEFT;
    return view.x + (Math.min(WIDTH, Math.max(0, x)) / WIDTH) * view.width;
  };

  let drag = null;
  document.addEventListener('pointerdown', function (event) {
    const drawing = drawingOf(event);
    if (!drawing) return;
    drag = { drawing: drawing, view: viewOf(drawing) };
    drag.from = placeOf(drag.view, drawing, event);
  });
  document.addEventListener('pointermove', function (event) {
    const drawing = drag ? drag.drawing : drawingOf(event);
    if (!drawing) return;
    const view = viewOf(drawing);
    point(view, placeOf(view, drawing, event));
    if (!drag) return;
    view.zone.setAttribute('x', Math.min(drag.from, view.at));
    view.zone.setAttribute('width', Math.abs(drag.from - view.at));
  });
  const drop = function (event) {
    if (!drag) return;
    const view = drag.view;
    const width = Math.abs(view.at - drag.from);
    view.zone.setAttribute('width', 0);
    if (event.type === 'pointerup' && width > view.width / 100) show(view, Math.min(drag.from, view.at), width);
    drag = null;
  };
  document.addEventListener('pointerup', drop);
  document.addEventListener('pointercancel', drop);
  document.addEventListener('dblclick', function (event) {
    const drawing = drawingOf(event);
    if (drawing) show(viewOf(drawing), 0, WIDTH);
  });

  const keys = {
    ArrowLeft: (view) => point(view, view.at - view.width / 200),
    ArrowRight: (view) => point(view, view.at + view.width / 200),
    '+': (view) => show(view, view.at - view.width / 4, view.width / 2),
    '-': (view) => show(view, view.at - view.width, view.width * 2),
    0: (view) => show(view, 0, WIDTH),
    Escape: (view) => show(view, 0, WIDTH),
  };
  document.addEventListener('keydown', function (event) {
    const drawing = drawingOf(event);
    if (!drawing || !Object.hasOwn(keys, event.key) || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    keys[event.key](viewOf(drawing));
  });

  for (const drawing of document.querySelectorAll('figure .f')) drawing.setAttribute('tabindex', '0');
  const hint = document.getElementById('hint');
  hint.textContent = hint.dataset.says;
})();

// SPDX-License-Identifier: GPL-3.0-or-later
// The reader's own clock says how old the page is and the blank: what stands still must not look alive.
'use strict';
(function () {
  const note = document.getElementById('stale');
  const age = document.getElementById('age');
  const minutes = (since) => Math.floor((Date.now() - Number(since)) / 60000);
  const look = function () {
    const old = minutes(note.dataset.written);
    note.hidden = note.dataset.state !== 'open' || old < 3;
    note.textContent = note.dataset.says.replace('#', String(old));
    if (age) age.textContent = age.dataset.says.replace('#', String(minutes(age.dataset.since)));
  };
  look();
  setInterval(look, 5000);
})();

// The compose board by keyboard: arrows between picks, Enter opens (it is a link), P pins, Alt with arrows moves a slot,
// which can be dragged by its number too. After a swap of the fragment the focus, the place in the right column and what
// was just opened stay in sight.

import { draggable } from './dragging.js';
import { takenUp } from './taken-up.js';

const PICK = '.pick-name';
const FILLED = 'input:not([type="hidden"]), select, textarea';

document.querySelector('main').classList.add('live');

const drawn = (element) => element.getClientRects().length > 0;

// Rows of what can be reached, in the order of the page: on a phone only the day that is shown.
function rows() {
  return [...document.querySelectorAll('.band-table tbody tr')]
    .map((row) => [...row.querySelectorAll(PICK)].filter(drawn))
    .filter((row) => row.length > 0);
}

function step(pick, down, right) {
  const all = rows();
  const row = all.findIndex((picks) => picks.includes(pick));
  if (row < 0) return;
  const column = all[row].indexOf(pick);
  const next = all[row + down];
  if (!next) return;
  next[Math.min(Math.max(column + right, 0), next.length - 1)]?.focus();
}

function placeOf(pick) {
  const at = pick.dataset.place.lastIndexOf(':');
  return { slot: pick.dataset.place.slice(0, at), occurrence: pick.dataset.place.slice(at + 1) };
}

// Hands can be faster than the answers: acts wait for their turn, and each is sent with what is on screen by then.
const waiting = [];
let underway = false;
let sending = false;

function filled(formId, values) {
  const form = document.getElementById(formId);
  for (const [name, value] of Object.entries(values)) {
    for (const input of form.querySelectorAll(`input[name="${name}"]`)) input.value = value;
  }
  return form;
}

function next() {
  while (!underway && waiting.length > 0) {
    const found = waiting.shift()();
    if (!found) continue;
    underway = true;
    sending = true;
    takenUp(found.form ?? found);
    if (found.matches('form')) found.requestSubmit();
    else found.click();
    sending = false;
  }
}

// What is to be sent is looked up when its turn comes: a form, a button or a link, or nothing any more.
function inTurn(found) {
  waiting.push(found);
  next();
}

const send = (formId, values) => inTurn(() => filled(formId, values));

const about = (form) => ['slot', 'occurrence'].map((name) => form.elements.namedItem(name)?.value).join();

// The button that stands there by then, unless it is gone or would do something else. Where a button steps on, as
// "one set more" does, its value is another each time.
function pressed(button) {
  const { id, value } = button;
  const of = about(button.form);
  return () => {
    const there = document.getElementById(id);
    const meant = there?.form && !there.disabled && about(there.form) === of;
    return meant && (there.value === value || 'again' in there.dataset) ? there : null;
  };
}

let sent = '';

// Undo, in the title block or the toast, and redo wait for their turn too, and load no page. So do all other buttons
// of the board; one pressed twice counts once, but for those that step on.
document.addEventListener(
  'submit',
  (event) => {
    const form = event.target;
    const way = ['undo', 'redo'].find((name) => form.matches(`form[data-${name}]`));
    const button = way ? document.getElementById(`board-${way}`) : event.submitter;
    // A form that is being sent cannot be sent from within: with nothing before it, the board's own goes its way.
    if (sending || !button || (!underway && (!way || form === button.form))) {
      sent = button?.id ?? '';
      return;
    }
    // What is typed or chosen in a form goes out as it is: the answer before it would empty the form.
    if (!way && (!form.closest('#board') || form.querySelector(FILLED))) return;
    event.preventDefault();
    event.stopPropagation();
    if (way) inTurn(() => document.getElementById(`board-${way}`).form);
    else if (button.id && (button.id !== sent || 'again' in button.dataset)) inTurn(pressed(button));
  },
  true,
);

document.addEventListener(
  'click',
  (event) => {
    const link = event.target instanceof Element ? event.target.closest('#board a[hx-get][id]') : null;
    const elsewhere = event.ctrlKey || event.metaKey || event.shiftKey;
    if (!link || sending || !underway || elsewhere || link.closest('#why-not-answer')) return;
    event.preventDefault();
    event.stopPropagation();
    inTurn(() => document.getElementById(link.id));
  },
  true,
);

document.addEventListener('htmx:beforeRequest', (event) => {
  if (event.detail.target?.id === 'board') underway = true;
});

// Where no board comes back nothing is waited for any more, nor on a page that the browser had kept.
for (const name of ['htmx:sendError', 'htmx:sendAbort', 'htmx:responseError', 'htmx:timeout', 'htmx:historyRestore']) {
  document.addEventListener(name, (event) => {
    if (event.detail.shouldSwap) return;
    waiting.length = 0;
    underway = false;
  });
}

window.addEventListener('pageshow', () => {
  waiting.length = 0;
  underway = false;
});

draggable(document, {
  dropped: (row, _list, to) => {
    [...row.querySelectorAll(PICK)].find(drawn)?.focus({ preventScroll: true });
    send('drop-place', { slot: row.dataset.item, to });
  },
});

document.addEventListener('keydown', (event) => {
  const pick = event.target instanceof Element ? event.target.closest(PICK) : null;
  if (!pick || event.ctrlKey || event.metaKey) return;
  const vertical = { ArrowUp: -1, ArrowDown: 1 }[event.key];
  const sideways = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  const { slot, occurrence } = placeOf(pick);
  if (vertical && event.altKey) {
    send('key-move', { slot, by: vertical, day: pick.closest('tr').dataset.day });
  } else if (vertical) {
    step(pick, vertical, 0);
  } else if (sideways && !event.altKey) {
    step(pick, 0, document.dir === 'rtl' ? -sideways : sideways);
  } else if (event.key.toLowerCase() === 'p' && !event.altKey) {
    send('key-pin', { slot, occurrence });
  } else {
    return;
  }
  event.preventDefault();
});

// Esc closes the opened pick and goes back to its cell.
document.addEventListener('keydown', (event) => {
  if (event.key !== 'Escape' || event.defaultPrevented) return;
  const close = document.querySelector('[data-board-close]');
  if (close && event.target instanceof Element && event.target.closest('#board')) {
    event.preventDefault();
    takenUp(close).click();
  }
});

// A stale edit (409) answers with the board as it stands: it is shown, not taken for a failure. What was to follow on
// an edit that was refused is left.
document.addEventListener('htmx:beforeSwap', (event) => {
  if (event.detail.xhr.status >= 400) waiting.length = 0;
  // A way out that is refused answers with the ways alone.
  if (event.detail.requestConfig.target?.id === 'board' && event.detail.target.id !== 'board') underway = false;
  if (event.detail.xhr.status === 409) {
    event.detail.shouldSwap = true;
    event.detail.isError = false;
  }
});

const held = { page: 0, scroll: 0, place: '', open: '', row: 0 };
const side = () => document.querySelector('.board-side');
const openPlace = () => document.querySelector('.occurrence-cell.chosen .pick-name')?.id ?? '';

document.addEventListener('htmx:beforeSwap', (event) => {
  if (event.detail.target.id !== 'board') return;
  held.page = window.scrollY;
  held.scroll = side()?.scrollTop ?? 0;
  held.open = openPlace();
  held.place = document.activeElement?.id ?? '';
  const pick = document.activeElement?.closest(PICK) ?? document.getElementById(held.open);
  held.row = rows().findIndex((picks) => picks.includes(pick));
});

// Where the focus goes that was on something that is gone or cannot be used any more: never to the top of the page.
function focusNear(panel) {
  const back = held.place.replace(/^back-(.*)$/, 'pick-$1-0'); // a slot put back is there again
  const all = rows();
  const near = [held.place, back, panel?.id, held.open].map((id) => document.getElementById(id));
  near.push(held.row < 0 ? null : all[Math.min(held.row, all.length - 1)]?.[0], document.getElementById('board'));
  near.find((one) => one && drawn(one) && !one.disabled)?.focus({ preventScroll: true });
}

function inSight(panel) {
  const column = side();
  if (getComputedStyle(column).position === 'sticky') {
    column.scrollTop += panel.getBoundingClientRect().top - column.getBoundingClientRect().top;
  } else {
    panel.scrollIntoView({ block: 'start' });
  }
}

document.addEventListener('htmx:afterSettle', (event) => {
  if (event.target.id === 'why-not-answer' && document.activeElement === document.body) {
    event.target.focus({ preventScroll: true });
  }
  if (event.target.id !== 'board') return;
  const column = side();
  // For a moment both boards stood on the page, and the browser may have followed the old one down.
  window.scrollTo({ top: held.page, behavior: 'instant' });
  if (column) column.scrollTop = held.scroll;
  const opened = openPlace();
  const panel = document.getElementById('pick');
  const stale = document.getElementById('stale');
  if (stale) {
    stale.focus();
  } else if (panel && opened !== held.open) {
    inSight(panel);
  }
  if (held.place && (document.activeElement === document.body || document.activeElement.disabled)) {
    focusNear(panel);
  }
  underway = false;
  next();
});

// The compose board by keyboard: arrows between picks, Enter opens (it is a link), P pins, Alt with arrows moves a slot,
// which can be dragged by its number too. After a swap of the fragment the focus, the place in the right column and what
// was just opened stay in sight.

import { draggable } from './dragging.js';
import { takenUp } from './taken-up.js';

const PICK = '.pick-name';

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
  if (underway || waiting.length === 0) return;
  const form = waiting.shift()();
  underway = true;
  sending = true;
  takenUp(form).requestSubmit();
  sending = false;
}

function inTurn(formOf) {
  waiting.push(formOf);
  next();
}

const send = (formId, values) => inTurn(() => filled(formId, values));

// Undo, in the title block or the toast, and redo wait for their turn too, and load no page.
document.addEventListener(
  'submit',
  (event) => {
    const way = ['undo', 'redo'].find((name) => event.target.matches(`form[data-${name}]`));
    const button = document.getElementById(`board-${way}`);
    // A form that is being sent cannot be sent from within: with nothing before it, the board's own goes its way.
    if (!button || sending || (!underway && event.target === button.form)) return;
    event.preventDefault();
    event.stopPropagation();
    inTurn(() => document.getElementById(`board-${way}`).form);
  },
  true,
);

document.addEventListener('htmx:beforeRequest', (event) => {
  if (event.detail.target?.id === 'board') underway = true;
});

for (const name of ['htmx:sendError', 'htmx:responseError', 'htmx:timeout']) {
  document.addEventListener(name, (event) => {
    if (event.detail.shouldSwap) return;
    waiting.length = 0;
    underway = false;
  });
}

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

// A stale edit (409) answers with the board as it stands: it is shown, not taken for a failure.
document.addEventListener('htmx:beforeSwap', (event) => {
  if (event.detail.xhr.status === 409) {
    event.detail.shouldSwap = true;
    event.detail.isError = false;
  }
});

const held = { page: 0, scroll: 0, place: '', open: '' };
const side = () => document.querySelector('.board-side');
const openPlace = () => document.querySelector('.occurrence-cell.chosen .pick-name')?.id ?? '';

document.addEventListener('htmx:beforeSwap', (event) => {
  if (event.detail.target.id !== 'board') return;
  held.page = window.scrollY;
  held.scroll = side()?.scrollTop ?? 0;
  held.open = openPlace();
  held.place = document.activeElement?.id ?? '';
});

function inSight(panel) {
  const column = side();
  if (getComputedStyle(column).position === 'sticky') {
    column.scrollTop += panel.getBoundingClientRect().top - column.getBoundingClientRect().top;
  } else {
    panel.scrollIntoView({ block: 'start' });
  }
}

document.addEventListener('htmx:afterSettle', (event) => {
  if (event.target.id !== 'board') return;
  const column = side();
  // For a moment both boards stood on the page, and the browser may have followed the old one down.
  window.scrollTo({ top: held.page, behavior: 'instant' });
  if (column) column.scrollTop = held.scroll;
  const opened = openPlace();
  const panel = document.getElementById('pick');
  const stale = document.getElementById('stale');
  if (stale) {
    waiting.length = 0;
    stale.focus();
  } else if (panel && opened !== held.open) {
    inSight(panel);
  }
  if (document.activeElement === document.body && held.place) {
    const back = document.getElementById(held.place) ?? panel ?? document.getElementById(held.open);
    (drawn(back ?? document.body) ? back : panel)?.focus({ preventScroll: true });
  }
  underway = false;
  next();
});

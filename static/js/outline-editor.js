// The template editor: every act is sent with the newest revision and answered with the parts that it touched. Rows are
// dragged by their number or moved with Alt and the arrows; a digit ranks a candidate; arrows walk between slots.
// All of it can be done by the buttons, and without script by plain forms.

import { draggable } from './dragging.js';
import { takenUp } from './taken-up.js';

const editor = document.getElementById('editor');
const TYPED_IN = 'input, select, textarea';
const NAME = '.slot-name';

editor.classList.add('live');

const openItem = () => editor.querySelector('.slot-item.open');
const openKey = () => openItem()?.dataset.item ?? '';

// What the whole page knows and a form that was drawn earlier does not.
document.addEventListener('htmx:configRequest', (event) => {
  const { formData, parameters, verb } = event.detail;
  if (!editor.contains(event.detail.elt)) return;
  if (verb === 'post') {
    parameters.revision = document.getElementById('status').dataset.revision;
    parameters.open = openKey();
    parameters.shown = editor.querySelector('.editor-band:not(.away)')?.dataset.item ?? '';
    parameters.q = openItem()?.querySelector('input[type="search"]')?.value ?? '';
  } else if (!formData.has('q') && openKey()) {
    parameters.was = openKey();
  }
});

// A stale act (409) answers with the page as it stands: it is shown, not taken for a failure.
document.addEventListener('htmx:beforeSwap', (event) => {
  if (event.detail.xhr.status === 409) {
    event.detail.shouldSwap = true;
    event.detail.isError = false;
  }
});

// Settling at once, as #editor asks for too: for a moment longer a new part would still have the attributes of the old
// one, its revision among them, and a quick key would send that.
function send(values) {
  window.htmx.ajax('POST', editor.dataset.change, { source: editor, target: editor, swap: 'none settle:0ms', values });
}

// Moving: by key and by dragging.

const kindOf = (item) => item.closest('[data-list]').dataset.list;
const idOf = (item) => item.dataset.item;

// Sessions go by their place, so that what has the focus must follow the one that was moved.
let follow = '';

function moves(kind, at, way) {
  const to = Number(at) + (way === 'up' ? -1 : 1);
  follow = kind === 'session' ? document.activeElement.id.replace(/\d+$/, String(to)) : '';
}

// A button that was just swapped in must be known before its form asks which button was pressed.
document.addEventListener('click', (event) => {
  const button = event.target instanceof Element ? event.target.closest('button[form="acts"]') : null;
  if (button) takenUp(button);
}, true);

document.getElementById('acts').addEventListener('submit', (event) => {
  const [, kind, way, at] = /^(\w+)-(up|down):(.+)$/.exec(event.submitter?.value ?? '') ?? [];
  if (kind) moves(kind, at, way);
});

function move(item, way) {
  moves(kindOf(item), idOf(item), way);
  send({ do: `${kindOf(item)}-${way}:${idOf(item)}` });
}

document.addEventListener('keydown', (event) => {
  const target = event.target instanceof Element ? event.target : null;
  if (!target || !editor.contains(target) || event.ctrlKey || event.metaKey || target.matches(TYPED_IN)) return;
  const item = target.closest('[data-item]');
  const way = { ArrowUp: 'up', ArrowDown: 'down' }[event.key];
  if (item && way && event.altKey) {
    move(item, way);
  } else if (way && target.matches(NAME)) {
    const names = [...editor.querySelectorAll(NAME)];
    names[names.indexOf(target) + (way === 'up' ? -1 : 1)]?.focus();
  } else if (item && kindOf(item) === 'candidate' && /^[1-9]$/.test(event.key) && !event.altKey) {
    send({ do: `candidate-move:${idOf(item)}`, to: Number(event.key) - 1 });
  } else {
    return;
  }
  event.preventDefault();
});

// Esc closes the opened slot and goes back to its row.
document.addEventListener('keydown', (event) => {
  const item = openItem();
  if (event.key !== 'Escape' || event.defaultPrevented || !item?.contains(event.target)) return;
  event.preventDefault();
  const name = item.querySelector(NAME);
  name.focus();
  takenUp(name).click();
});

draggable(editor, {
  takes: (list, from) => from.dataset.list === 'slot',
  dropped: (item, list, to) =>
    send({ do: `${list.dataset.list}-move:${idOf(item)}`, to, into: list.dataset.into ?? '' }),
});

// Undo in the toast takes back the newest act, as the button does, without loading the page.
document.getElementById('toasts').addEventListener('submit', (event) => {
  const undo = document.getElementById('editor-undo');
  if (!event.target.matches('form[data-undo]') || undo.disabled) return;
  event.preventDefault();
  takenUp(undo.form);
  undo.click();
});

// After an answer the focus, what was folded open and the places on the page stay; what was just opened comes into sight.

let held = { focus: '', item: '', band: '', open: '', folds: [] };

const drawn = (element) => Boolean(element?.checkVisibility()) && !element.disabled;

// What had the focus may be gone, or folded away: then the row it stood in, then its day type.
function nearest() {
  const item = document.getElementById(held.item);
  return [
    document.getElementById(held.focus),
    document.getElementById(held.focus)?.closest('details')?.querySelector('summary'),
    ...(item?.querySelectorAll('a, button:enabled, summary') ?? []),
    openItem()?.querySelector('input[type="search"]'),
    document.getElementById(held.band)?.querySelector('h2'),
    editor.querySelector(NAME),
  ].find(drawn);
}

document.addEventListener('htmx:beforeSwap', (event) => {
  if (!editor.contains(event.detail.elt)) return;
  const active = document.activeElement;
  held = {
    focus: editor.contains(active) ? active.id : '',
    item: active?.closest?.('[data-item]')?.id ?? '',
    band: active?.closest?.('.editor-band')?.id ?? '',
    open: openKey(),
    folds: [...editor.querySelectorAll('details[data-keep][open]')].map((fold) => fold.id),
  };
});

document.addEventListener('htmx:afterRequest', (event) => {
  if (!editor.contains(event.detail.elt)) return;
  for (const id of held.folds) document.getElementById(id)?.setAttribute('open', '');
  held.folds = [];
  const notice = document.getElementById('stale') ?? document.getElementById('lacking');
  if (notice) {
    notice.focus();
    return;
  }
  if (openKey() && openKey() !== held.open) openItem().scrollIntoView({ block: 'nearest' });
  const followed = document.getElementById(follow);
  follow = '';
  if (followed) {
    (drawn(followed) ? followed : followed.parentElement.querySelector('button:enabled')).focus({ preventScroll: true });
    return;
  }
  if (document.activeElement !== document.body || !held.focus) return;
  nearest()?.focus({ preventScroll: true });
});

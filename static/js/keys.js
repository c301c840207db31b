// The keys that work on every page: "/" to the search field, Ctrl Z to the undo in sight and Ctrl Shift Z to the redo,
// Esc out of what is open. Everything they do can be done without them.

import { takenUp } from './taken-up.js';

const typing = (target) => target.matches('input, textarea, select, [contenteditable]');

const visible = (element) => element.getClientRects().length > 0;

// A form may be laid out as if it were not there, its button never.
const inSight = (form) => [...form.elements].some(visible);

function openPanels() {
  return [...document.querySelectorAll('details[data-pop][open]')];
}

function close(panel, returnFocus) {
  const hadFocus = panel.contains(document.activeElement);
  panel.open = false;
  if (returnFocus || hadFocus) panel.querySelector('summary').focus();
}

document.addEventListener('keydown', (event) => {
  const target = event.target instanceof Element ? event.target : document.body;
  if (event.key === '/' && !event.ctrlKey && !event.metaKey && !event.altKey && !typing(target)) {
    const find = [...document.querySelectorAll('[data-find]')].find(visible);
    if (find) {
      event.preventDefault();
      find.focus();
    }
  } else if (event.key.toLowerCase() === 'z' && (event.ctrlKey || event.metaKey) && !typing(target)) {
    const what = event.shiftKey ? 'form[data-redo]' : 'form[data-undo]';
    const back = [...document.querySelectorAll(what)].findLast(inSight);
    if (back) {
      event.preventDefault();
      takenUp(back).requestSubmit();
    }
  } else if (event.key === 'Escape') {
    const panel = openPanels().findLast((open) => open.contains(target)) ?? openPanels().at(-1);
    if (panel) {
      event.preventDefault();
      close(panel, true);
    }
  }
});

document.addEventListener('click', (event) => {
  const closer = event.target.closest('[data-close]');
  for (const panel of openPanels()) {
    if (closer && panel.contains(closer)) close(panel, true);
    else if (!panel.contains(event.target)) close(panel, false);
  }
});

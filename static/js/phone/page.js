// What every page of a client does with script: keep what is typed, send it, say where it stands.

import * as awake from './awake.js';
import * as hold from './hold.js';
import * as log from './log.js';
import * as offline from './offline.js';
import * as reports from './reports.js';
import * as rest from './rest.js';
import * as send from './send.js';
import * as store from './store.js';

const root = document.getElementById('phone');
const flag = document.getElementById('waiting');
const words = JSON.parse(root.dataset.words);
const owner = root.dataset.owner;
const rendered = Number(root.dataset.rendered);

const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);

let sentHere = false;
let closed = false;

function announce(text) {
  const place = document.getElementById('announce');
  if (!place) return;
  place.textContent = '';
  // A screen reader speaks a change, not a repetition.
  setTimeout(() => {
    place.textContent = text;
  }, 50);
}

function sign(name) {
  const use = flag.querySelector('use');
  use.setAttribute('href', use.getAttribute('href').replace(/#\w+$/, `#${name}`));
}

function showState() {
  const waiting = store.waiting(owner);
  const sets = store.waitingSets(owner);
  let text = '';
  if (closed && waiting.length) text = words.closed;
  else if (waiting.some((entry) => entry.refused)) text = words.refused;
  else if (sets === 1) text = words.waitingOne;
  else if (sets > 1) text = fill(words.waiting, { n: sets });
  else if (waiting.length) text = words.waitingOther;
  else if (sentHere) text = words.allSent;
  sign(waiting.length ? 'waiting' : 'done');
  if (flag.querySelector('span').textContent !== text) flag.querySelector('span').textContent = text;
  flag.hidden = !text;
}

// What a page from the desk knows already need not be kept here any longer.
function tidy() {
  for (const entry of store.all(owner)) {
    if (entry.received && entry.received < rendered) store.forget(entry);
  }
}

function urgent([title, text]) {
  const notice = document.createElement('div');
  notice.className = 'notice notice-error';
  notice.setAttribute('role', 'alert');
  notice.tabIndex = -1;
  const head = document.createElement('h2');
  head.textContent = title;
  const body = document.createElement('p');
  body.textContent = text;
  const inside = document.createElement('div');
  inside.append(head, body);
  notice.append(inside);
  document.getElementById('main').prepend(notice);
  notice.focus();
  notice.scrollIntoView({ block: 'start' });
}

function typed(entry) {
  const kept = store.keep({ owner, session: root.dataset.session, ...entry });
  showState();
  // Only once all that follows on the page has been done.
  setTimeout(() => send.flush(owner), 0);
  return kept;
}

function leave(form) {
  form.addEventListener('submit', (event) => {
    if (store.waiting(owner).length && !window.confirm(words.leaveUnsent)) {
      event.preventDefault();
      return;
    }
    store.all(owner).filter((entry) => entry.received).forEach(store.forget);
    rest.stop();
    offline.clear();
  });
}

if (root && store.usable()) {
  tidy();
  const desk = { owner, rendered, root, words, fill, announce, typed, showState, rest };
  rest.start(root.dataset.session, words, announce);
  log.start(desk);
  reports.start(desk);
  hold.mark(owner, rendered);
  document.querySelectorAll('form[data-leave]').forEach(leave);
  document.addEventListener('phone:sent', (event) => {
    sentHere = true;
    if (event.detail.answer.urgent?.length) urgent(event.detail.answer.urgent);
    showState();
  });
  document.addEventListener('phone:refused', showState);
  document.addEventListener('phone:state', (event) => {
    closed = event.detail.closed;
    showState();
  });
  showState();
  send.start(owner);
  if (document.getElementById('exercise')) awake.start();
}
if (root) offline.start(owner, JSON.parse(root.dataset.keep), words);

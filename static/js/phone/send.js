// Sends what was typed, in order and each with its own key, so that a reply lost on the way does no harm. Tried again
// when the signal comes back, when the page is looked at again, and every now and then.

import * as store from './store.js';

const PAUSES_S = [5, 15, 60];

let running = null;
let failures = 0;
let timer = 0;

function token() {
  return document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? '';
}

function tell(name, detail) {
  document.dispatchEvent(new CustomEvent(`phone:${name}`, { detail }));
}

function body(entry) {
  const pairs = Object.entries({ ...entry.fields, at: entry.at });
  return new URLSearchParams(pairs.flatMap(([name, value]) => [value].flat().map((one) => [name, one])));
}

// "sent", "refused" (the desk will not take it as it is), "closed" (the link is shut) or "later".
async function send(entry) {
  let response;
  try {
    response = await fetch(entry.url, {
      method: 'POST',
      credentials: 'same-origin',
      headers: { Accept: 'application/json', 'X-CSRFToken': token() },
      body: body(entry),
    });
  } catch {
    return 'later';
  }
  if (response.ok) {
    const answer = await response.json().catch(() => ({}));
    store.change(entry, { received: answer.at ?? Date.now() });
    tell('sent', { entry, answer });
    return 'sent';
  }
  if (response.status === 403) return 'closed';
  if (response.status === 422) {
    const answer = await response.json().catch(() => ({ errors: {} }));
    store.change(entry, { refused: answer.errors });
    tell('refused', { entry, errors: answer.errors });
    return 'refused';
  }
  if (response.status === 404) {
    store.change(entry, { refused: {} });
    tell('refused', { entry, errors: {} });
    return 'refused';
  }
  return 'later';
}

async function sendAll(owner) {
  for (const entry of store.waiting(owner)) {
    if (entry.refused) continue;
    const outcome = await send(entry);
    if (outcome === 'later') return 'later';
    if (outcome === 'closed') return 'closed';
  }
  return 'sent';
}

async function once(owner) {
  // One page at a time sends, where the browser can tell; the keys make the rest harmless.
  const outcome = navigator.locks
    ? await navigator.locks.request('coachdesk.send', () => sendAll(owner))
    : await sendAll(owner);
  clearTimeout(timer);
  if (outcome === 'later') {
    timer = setTimeout(() => flush(owner), PAUSES_S[Math.min(failures, PAUSES_S.length - 1)] * 1000);
    failures += 1;
  } else {
    failures = 0;
  }
  tell('state', { closed: outcome === 'closed' });
}

export function flush(owner) {
  running = (running ?? Promise.resolve()).then(() => once(owner));
  return running;
}

export function start(owner) {
  window.addEventListener('online', () => flush(owner));
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') flush(owner);
  });
  return flush(owner);
}

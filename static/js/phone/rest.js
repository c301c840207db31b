// The rest bar. Only two moments are kept, when the set ended and how long the rest is, so that a phone which slept
// shows the right time, and every exercise of the session shows the same rest.

const NAME = 'coachdesk.rest';
const WIDTH = 152;
const BASE = 17.5;
const STROKE_S = 5;
const LEAST_PITCH = 4;
const MOST_PITCH = 15;
const GONE_AFTER_S = 600;

let bar = null;
let words = {};
let rest = null;
let toldOver = false;
let announce = () => {};

const clock = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, '0')}`;
const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);

function read(session) {
  try {
    const kept = JSON.parse(localStorage.getItem(NAME));
    return kept?.session === session ? kept : null;
  } catch {
    return null;
  }
}

function write() {
  try {
    localStorage.setItem(NAME, JSON.stringify(rest));
  } catch {
    // Without storage the rest counts on this page only.
  }
}

// One stroke per five seconds or more, as many as keep 4 px apart; those gone by stand at full height.
function tally(gone, total) {
  const count = Math.max(2, Math.min(Math.ceil(total / STROKE_S), Math.floor((WIDTH - 2) / LEAST_PITCH) + 1));
  const pitch = Math.min(Math.floor((WIDTH - 2) / (count - 1)), MOST_PITCH);
  const full = Math.min(count, Math.floor((gone / total) * count));
  let done = '';
  let open = '';
  for (let index = 0; index < count; index += 1) {
    if (index < full) done += `M${1 + pitch * index} 0V${BASE}`;
    else open += `M${1.5 + pitch * index} 11V${BASE}`;
  }
  const path = (d, stroke, width) => {
    const element = document.createElementNS('http://www.w3.org/2000/svg', 'path');
    element.setAttribute('d', d);
    element.setAttribute('stroke', stroke);
    element.setAttribute('stroke-width', width);
    return element;
  };
  const line = `M0 ${BASE}H${pitch * (count - 1) + 2}`;
  return [path(open, 'var(--edge)', 1), path(done, 'var(--ink)', 2), path(line, 'var(--ink)', 1)];
}

function draw() {
  if (!rest) {
    bar.hidden = true;
    return;
  }
  const gone = (Date.now() - rest.ended) / 1000;
  const left = rest.seconds - gone;
  if (left < -GONE_AFTER_S) {
    rest = null;
    bar.hidden = true;
    return;
  }
  bar.hidden = false;
  bar.querySelector('b').textContent = left > 0 ? clock(Math.ceil(left)) : `+${clock(-left)}`;
  bar.querySelector('.rest-word').textContent = left > 0 ? words.rest : words.over;
  bar.querySelector('svg').replaceChildren(...tally(Math.min(gone, rest.seconds), rest.seconds));
  const at = new Date(rest.ended).toLocaleTimeString(document.documentElement.lang, {
    hour: '2-digit',
    minute: '2-digit',
    hour12: false,
  });
  bar.querySelector('.second').textContent = fill(words.restOf, { time: clock(rest.seconds), n: rest.number, at });
  if (left <= 0 && !toldOver) {
    toldOver = true;
    if (left > -2) {
      announce(words.restOver);
      navigator.vibrate?.(300);
    }
  }
}

export function begin(session, number, seconds, ended = Date.now()) {
  if (!bar || !seconds) return;
  rest = { session, number, seconds, ended };
  toldOver = false;
  write();
  draw();
}

export function stop() {
  rest = null;
  write();
  if (bar) draw();
}

export function start(session, itsWords, say) {
  bar = document.getElementById('rest');
  if (!bar) return;
  words = itsWords;
  announce = say;
  rest = read(session);
  toldOver = rest ? Date.now() > rest.ended + rest.seconds * 1000 : false;
  bar.querySelector('button').addEventListener('click', () => {
    if (!rest) return;
    rest.seconds += 30;
    toldOver = false;
    write();
    draw();
  });
  draw();
  setInterval(draw, 500);
  document.addEventListener('visibilitychange', draw);
}

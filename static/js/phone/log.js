// Log mode with script: a set is done in one tap, at once, with or without signal. The page shows what was typed here
// on top of what the desk knew when it made the page.

import * as address from './address.js';
import * as steps from './steps.js';
import * as store from './store.js';
import * as warm from './warm.js';

const TRIED = 'try';

let desk;
let page; // the exercise on show
let sets; // number -> { key, load, amount, rir, waiting }
let tries;

const forms = () => [...page.querySelectorAll('form.log-set')];
const formOf = (number) => page.querySelector(`form.log-set[data-set="${number}"]`);
const rung = (name) => page.querySelector(`.rung[data-rung="${name}"]`);
const asked = () => Number(page.dataset.asked);
const finding = () => page.querySelector('.finding');
const goOn = () => Number(finding().dataset.goOn);
const loads = () => JSON.parse(finding().dataset.steps);

function value(form, name) {
  if (name === 'rir') return form.querySelector('[name="rir"]:checked')?.value ?? '';
  return form.elements[name]?.value ?? '';
}

function set(form, name, text) {
  if (name !== 'rir') {
    if (form.elements[name]) form.elements[name].value = text;
    return;
  }
  const box = form.querySelector(`[name="rir"][value="${text}"]`);
  if (box) box.checked = true;
}

function inWords(form, done) {
  const said = form.dataset.said;
  return desk.fill(done.load === '' ? form.dataset.saidBare : said, { load: done.load, amount: done.amount });
}

// What is drawn: rungs, the form in hand, the list of sets, the way back.

function currentNumber() {
  return forms()
    .filter((form) => !('extra' in form.dataset))
    .map((form) => Number(form.dataset.set))
    .find((number) => !sets.has(number));
}

function drawRungs(now) {
  for (const form of forms()) {
    const number = Number(form.dataset.set);
    const drawn = rung(number);
    if (!drawn) continue;
    const done = sets.get(number);
    drawn.dataset.state = done ? 'done' : number === now ? 'now' : 'todo';
    const shown = done ?? (number === now ? { load: value(form, 'load'), amount: value(form, 'amount') } : null);
    if (!shown) continue;
    if (shown.load !== '' && form.dataset.said !== form.dataset.saidBare) drawn.querySelector('.rung-load').textContent = shown.load;
    drawn.querySelector('.rung-reps').textContent = desk.fill(form.dataset.rung, { amount: shown.amount });
  }
}

function item(number, done) {
  const form = formOf(number) ?? forms()[0];
  const row = document.createElement('li');
  const place = document.createElement('span');
  place.textContent = number === TRIED ? page.dataset.tryWord : number;
  const words = document.createElement('b');
  words.textContent = inWords(form, done);
  row.append(place, words);
  if (done.waiting) {
    const note = document.createElement('span');
    note.className = 'second';
    note.textContent = desk.words.notSent;
    row.append(note);
  }
  if (number !== TRIED) {
    const change = document.createElement('a');
    change.href = `?set=${number}#log`;
    change.dataset.openSet = number;
    change.textContent = desk.words.change;
    row.append(change);
  }
  return row;
}

function drawList() {
  const list = page.querySelector('[data-done]');
  const kept = new Map([...list.querySelectorAll('li[data-key]')].map((row) => [row.dataset.key, row]));
  const rows = [...tries.map((done) => [TRIED, done]), ...[...sets].sort(([one], [other]) => one - other)];
  list.replaceChildren(
    ...rows.map(([number, done]) => {
      const row = done.untouched ? kept.get(done.key) : null;
      const shown = row ?? item(number, done);
      shown.dataset.key = done.key;
      return shown;
    }),
  );
  list.closest('.done-list').hidden = !rows.length;
}

function drawProgress() {
  const count = [...sets].length;
  for (const entry of document.querySelectorAll(`.overview [data-line="${page.dataset.line}"] .progress`)) {
    entry.textContent = entry.dataset.words.replace('{done}', count);
  }
}

function draw(opened) {
  const now = currentNumber();
  const shown = opened ?? now;
  for (const form of forms()) form.hidden = Number(form.dataset.set) !== shown;
  page.querySelector('.all-done').hidden = shown !== undefined;
  drawRungs(now);
  drawList();
  drawProgress();
  const undo = page.querySelector('[data-undo-set] button');
  undo.disabled = !sets.size && !tries.length;
}

// What a set does to the rest of the page.

function carryOn(from, done) {
  for (const form of forms()) {
    if (sets.has(Number(form.dataset.set)) || form === from) continue;
    set(form, 'load', done.load);
    const [low, high] = [Number(form.dataset.low), Number(form.dataset.high)];
    const amount = steps.read(done.amount);
    if (form.dataset.low && amount !== null && !('open' in form.dataset)) {
      set(form, 'amount', String(Math.min(Math.max(amount, low), high)));
    }
  }
}

function asEdit(form, key) {
  form.dataset.edits = '';
  form.elements.key.value = key;
  form.querySelector('.button-tall').textContent = page.dataset.saveChange;
}

function asNew(form) {
  delete form.dataset.edits;
  form.elements.key.value = store.newKey();
  form.querySelector('.button-tall').textContent = form.dataset.doneLabel;
}

function anotherExtra(form) {
  const number = Number(form.dataset.set);
  if (formOf(number + 1)) return;
  const copy = document.createElement('div');
  copy.innerHTML = form.outerHTML
    .replaceAll(`-${number}"`, `-${number + 1}"`)
    .replaceAll(`-${number}-`, `-${number + 1}-`)
    .replace(`/set/${number}/`, `/set/${number + 1}/`);
  const made = copy.firstElementChild;
  made.dataset.set = number + 1;
  made.dataset.doneLabel = desk.fill(desk.words.setDone, { n: number + 1 });
  made.querySelector('h2').textContent = desk.fill(desk.words.extra, { n: number + 1 });
  form.after(made);
  asNew(made);
  wire(made);
  for (const link of page.querySelectorAll('.all-done [data-open-set]')) {
    link.dataset.openSet = number + 1;
    link.href = link.href.replace(/set=\d+/, `set=${number + 1}`);
  }
}

function drawTry() {
  const panel = finding();
  if (!panel) return;
  panel.hidden = sets.size > 0;
  const form = formOf(currentNumber() ?? 1);
  const at = Math.min(tries.length, loads().length - 1);
  [...panel.querySelectorAll('li')].forEach((row, index) => {
    row.classList.toggle('tried', index < tries.length);
    row.classList.toggle('now', index === at && !panel.hidden);
  });
  if (panel.hidden || !form) return;
  form.querySelector('h2').textContent = desk.fill(page.dataset.tryHead, { n: tries.length + 1 });
  set(form, 'load', steps.show(Number(loads()[at])));
  set(form, 'rir', '');
  form.elements.key.value = store.newKey();
}

// A set as typed, applied to the page. Tries of a load that is still being found are told from sets as the desk does.
function apply(form, done) {
  const number = Number(form.dataset.set);
  const trying = finding() && !sets.size && !('edits' in form.dataset);
  if (trying && Number(done.rir) >= goOn() && done.rir !== '' && tries.length + 1 < loads().length) {
    tries.push(done);
    drawTry();
    return TRIED;
  }
  sets.set(number, done);
  for (const [name, text] of [['load', done.load], ['amount', done.amount], ['rir', done.rir]]) set(form, name, text);
  asEdit(form, done.key);
  carryOn(form, done);
  if (trying) {
    drawTry();
    form.querySelector('h2').textContent = desk.fill(desk.words.set, { n: 1, m: asked() });
  }
  if ('extra' in form.dataset) anotherExtra(form);
  return number;
}

function takeBack(key) {
  tries = tries.filter((done) => done.key !== key);
  for (const [number, done] of sets) {
    if (done.key !== key) continue;
    sets.delete(number);
    const form = formOf(number);
    if (form) asNew(form);
    const drawn = rung(number);
    if (drawn) drawn.dataset.state = 'todo';
  }
  drawTry();
}

// Reading the form.

function problem(form) {
  const load = form.elements.load;
  if (load && load.tagName === 'INPUT') {
    const number = steps.read(load.value);
    if (number === null || number < 0) return ['load', desk.words.badLoad];
    if (/^\d{1,3}[.,]\d{2}0$/.test(load.value.trim())) return ['load', desk.words.badLoad];
  }
  const amount = value(form, 'amount').trim();
  if (!/^\d{1,5}$/.test(amount) && !/^\d{1,3}:[0-5]\d$/.test(amount)) return ['amount', desk.words.badAmount];
  if (finding() && !sets.size && !('edits' in form.dataset) && value(form, 'rir') === '') return ['rir', desk.words.needRir];
  return null;
}

function complain(form, name, text) {
  form.querySelector('.error-list')?.remove();
  form.querySelectorAll('[aria-invalid]').forEach((field) => field.removeAttribute('aria-invalid'));
  if (!text) return;
  const list = document.createElement('div');
  list.className = 'error-list';
  list.setAttribute('role', 'alert');
  const line = document.createElement('p');
  line.className = 'error';
  line.id = `error-${form.dataset.set}-${name}`;
  line.textContent = `△! ${text}`;
  list.append(line);
  form.querySelector('.set-head').after(list);
  const field = name === 'rir' ? form.querySelector('[name="rir"]') : form.elements[name];
  if (!field) return;
  field.setAttribute('aria-invalid', 'true');
  field.setAttribute('aria-describedby', line.id);
  field.focus();
}

function submit(event) {
  const form = event.currentTarget;
  event.preventDefault();
  const wrong = problem(form);
  complain(form, ...(wrong ?? ['', '']));
  if (wrong) return;
  if (!('edits' in form.dataset)) form.elements.key.value = store.newKey();
  const fields = Object.fromEntries(new FormData(form));
  delete fields.csrfmiddlewaretoken;
  const done = { key: fields.key, load: fields.load ?? '', amount: fields.amount, rir: fields.rir ?? '', waiting: true };
  const edit = 'edits' in form.dataset;
  const number = Number(form.dataset.set);
  const outcome = apply(form, done);
  desk.typed({ kind: 'set', url: form.action, fields, version: desk.root.dataset.version, line: page.dataset.line, number, edit });
  draw();
  if (!edit) desk.rest.begin(desk.root.dataset.session, outcome === TRIED ? tries.length : number, Number(form.dataset.rest));
  const told = outcome === TRIED ? desk.words.savedTry : desk.fill(desk.words.saved, { n: number });
  const rests = !edit && form.dataset.rest > 0 ? ` ${desk.fill(desk.words.restStarts, { time: restWords(form) })}` : '';
  desk.announce(told + rests);
}

function restWords(form) {
  const seconds = Number(form.dataset.rest);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
}

function undo(event) {
  event.preventDefault();
  const form = event.currentTarget;
  const rows = store.all(desk.owner).filter((entry) => entry.kind === 'set' && entry.line === page.dataset.line && entry.version === desk.root.dataset.version);
  const here = [...tries, ...sets.values()].map((done) => done.key);
  const last = rows.findLast((entry) => here.includes(entry.fields.key) && !entry.edit);
  const key = last?.fields.key ?? [...tries, ...[...sets].sort(([a], [b]) => a - b).map(([, done]) => done)].at(-1)?.key;
  if (!key) return;
  const number = [...sets].find(([, done]) => done.key === key)?.[0] ?? '';
  takeBack(key);
  desk.typed({ kind: 'undo', url: form.action, fields: { key }, version: desk.root.dataset.version, line: page.dataset.line });
  desk.rest.stop();
  draw();
  desk.announce(number === '' ? desk.words.undoneTry : desk.fill(desk.words.undone, { n: number }));
}

function wire(form) {
  form.addEventListener('submit', submit);
  steps.start(form, (changed, field, button) => {
    if (Number(changed.dataset.set) === currentNumber()) drawRungs(currentNumber());
    desk.announce(`${button.closest('.step').querySelector('label').textContent.trim()} ${field.value}`);
  });
  form.addEventListener('input', () => {
    if (Number(form.dataset.set) === currentNumber()) drawRungs(currentNumber());
  });
  // A second tap on the chosen box takes it back: not sure.
  let before = null;
  for (const box of form.querySelectorAll('.rir > div input')) {
    box.closest('label').addEventListener('pointerdown', () => {
      before = box.checked ? box : null;
    });
    box.addEventListener('click', () => {
      if (before === box) set(form, 'rir', '');
      before = null;
    });
  }
}

function readPage() {
  sets = new Map();
  tries = [];
  for (const row of page.querySelectorAll('[data-done] > li')) {
    const { key, number } = row.dataset;
    if (!number) tries.push({ key, untouched: true });
    else {
      const form = formOf(number);
      sets.set(Number(number), { key, untouched: true, load: value(form, 'load'), amount: value(form, 'amount'), rir: value(form, 'rir') });
    }
  }
}

// What was typed here and the page does not know yet, in its order.
function replay() {
  const known = new Set([...tries, ...sets.values()].map((done) => done.key));
  const here = (entry) => entry.version === desk.root.dataset.version && entry.line === page.dataset.line;
  for (const entry of store.all(desk.owner).filter(here)) {
    const { fields } = entry;
    if (entry.kind === 'undo') takeBack(fields.key);
    if (entry.kind !== 'set' || (known.has(fields.key) && !entry.edit)) continue;
    if (entry.refused) {
      const form = formOf(entry.number);
      if (form) refused(form, entry, entry.refused);
      continue;
    }
    let form = formOf(entry.number);
    if (!form) form = forms().at(-1);
    apply(form, { key: fields.key, load: fields.load ?? '', amount: fields.amount, rir: fields.rir ?? '', waiting: !entry.received });
  }
}

function refused(form, entry, errors) {
  takeBack(entry.fields.key);
  for (const name of ['load', 'amount', 'rir', 'left', 'right']) {
    if (name in entry.fields) set(form, name, entry.fields[name]);
  }
  store.forget(entry);
  draw(Number(form.dataset.set));
  const [name, text] = Object.entries(errors)[0] ?? ['', ''];
  complain(form, name, [text].flat().join(' '));
}

export function start(itsDesk) {
  desk = itsDesk;
  page = document.getElementById('exercise');
  if (!page?.querySelector('form.log-set')) return;
  readPage();
  forms().forEach(wire);
  page.querySelector('[data-undo-set]').addEventListener('submit', undo);
  page.addEventListener('click', (event) => {
    const opener = event.target.closest('[data-open-set]');
    if (opener && formOf(opener.dataset.openSet)) {
      event.preventDefault();
      draw(Number(opener.dataset.openSet));
      formOf(opener.dataset.openSet).querySelector('input[name="load"], input[name="amount"]').focus();
    }
    if (event.target.closest('[data-anyway]')) {
      event.preventDefault();
      page.querySelector('#log').hidden = false;
    }
  });
  warm.start(page, desk.root.dataset.session);
  const asking = new URLSearchParams(location.search);
  const asksFor = asking.get('set');
  address.honour(page, asking);
  replay();
  drawTry();
  draw(asksFor && formOf(asksFor) ? Number(asksFor) : undefined);
  document.addEventListener('phone:sent', (event) => {
    const done = [...sets.values(), ...tries].find((one) => one.key === event.detail.entry.fields.key);
    if (!done?.waiting) return;
    done.waiting = false;
    drawList();
  });
  document.addEventListener('phone:refused', (event) => {
    const { entry, errors } = event.detail;
    if (entry.kind !== 'set' || entry.line !== page.dataset.line || entry.version !== desk.root.dataset.version) return;
    refused(formOf(entry.number), entry, errors);
  });
}

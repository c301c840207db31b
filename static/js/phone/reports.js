// Everything beside sets: sleep, energy, effort, notes, bodyweight, pain. Kept and sent like sets.

import * as hold from './hold.js';
import * as store from './store.js';

function fieldsOf(form, submitter) {
  const fields = {};
  for (const [name, value] of new FormData(form, submitter)) {
    if (name === 'csrfmiddlewaretoken') continue;
    fields[name] = name in fields ? [fields[name], value].flat() : value;
  }
  return fields;
}

function press(form, button) {
  form.querySelectorAll('[aria-pressed]').forEach((other) => other.setAttribute('aria-pressed', String(other === button)));
}

function note(form, fields, submitter) {
  if (submitter?.hasAttribute('aria-pressed') && submitter.name) press(form, submitter);
  if ('tick' in fields) submitter?.setAttribute('aria-pressed', String('ticked' in fields));
  const text = form.querySelector('textarea');
  if (text?.value) {
    const said = document.createElement('p');
    said.textContent = text.value;
    form.querySelector('[data-said]').append(said);
    text.value = '';
  }
}

function answer(action) {
  const template = document.querySelector(`template[data-answer="${action}"]`);
  const place = document.getElementById('pain-answer');
  place.replaceChildren(template.content.cloneNode(true));
  place.hidden = false;
  place.focus();
  place.scrollIntoView({ block: 'start' });
}

// Without signal the bands alone decide; the desk may answer more carefully later, never less.
function band(fields) {
  if (Number(fields.score) >= 5 || (Number(fields.score) > 0 && fields.alarms)) return 'stop';
  return Number(fields.score) >= 3 ? 'freeze' : 'go_on';
}

export function start(desk) {
  for (const form of document.querySelectorAll('form[data-send]')) {
    const kind = form.dataset.send;
    form.addEventListener('submit', (event) => {
      const { submitter } = event;
      const fields = fieldsOf(form, submitter);
      if (kind === 'pain' && (!fields.body_part || fields.score === undefined)) return; // the desk says what is missing
      event.preventDefault();
      // A page from the phone's own store may be an old one: what it names must be new.
      if (kind === 'pain') fields.key = store.newKey();
      const line = new URLSearchParams(location.search).get('line');
      if (kind === 'pain' && line) fields.line = line;
      const entry = { kind, url: form.action, fields };
      if (kind === 'pain') {
        const chosen = form.querySelector('[name="body_part"]').selectedOptions[0];
        entry.pauses = hold.pauses(fields) ? JSON.parse(chosen.dataset.pauses) : null;
      }
      desk.typed(entry);
      if (kind === 'pain') {
        form.hidden = true;
        answer(band(fields));
      } else if (kind === 'bodyweight') {
        form.hidden = true;
      } else {
        note(form, fields, submitter);
      }
      if (kind !== 'pain') desk.announce(desk.words.savedNote);
    });
  }
  document.addEventListener('phone:sent', (event) => {
    const { entry, answer: said } = event.detail;
    if (entry.kind === 'pain' && said.action && document.getElementById('pain-answer')) answer(said.action);
  });
  document.addEventListener('phone:refused', (event) => {
    const { entry, errors } = event.detail;
    const form = document.querySelector(`form[data-send="${entry.kind}"]`);
    if (!form || entry.kind === 'note') return;
    form.hidden = false;
    const place = document.createElement('p');
    place.className = 'error';
    place.setAttribute('role', 'alert');
    place.textContent = Object.values(errors).flat().join(' ');
    form.append(place);
    store.forget(entry);
  });
}

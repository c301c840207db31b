// Pain of 3 or more, or with an alarm: what loads the place is paused at once, also before the desk knows of it, by the
// same rule as the desk's.

import * as store from './store.js';

const FROM = 3;

export function pauses(fields) {
  return Number(fields.score) >= FROM || (Number(fields.score) > 0 && Boolean(fields.alarms));
}

function held(facts, holds) {
  return holds.some(
    (hold) =>
      hold.everything ||
      hold.patterns.includes(facts.pattern) ||
      facts.joints.some((joint) => hold.joints.includes(joint)) ||
      facts.regions.some((region) => hold.regions.includes(region)),
  );
}

// Marks every line on the page that the reports kept here pause; what the desk has marked already stays marked.
export function mark(owner, rendered) {
  const reports = store
    .all(owner)
    .filter((entry) => entry.kind === 'pain' && entry.pauses && (!entry.received || entry.received > rendered));
  const holds = reports.map((entry) => entry.pauses);
  if (!holds.length) return;
  for (const line of document.querySelectorAll('[data-facts]')) {
    if (!line.dataset.facts || !held(JSON.parse(line.dataset.facts), holds)) continue;
    const notice = line.querySelector('.held');
    if (notice?.hidden) {
      notice.hidden = false;
      const log = line.querySelector('#log');
      if (log) log.hidden = true;
    }
  }
}

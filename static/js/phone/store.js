// What was typed on this phone: kept under one name each in the browser's own storage until the desk has it, and after
// that until a page comes which knows it. One name each, so that two open pages never overwrite each other's.

const PREFIX = 'coachdesk.typed.';

export function usable() {
  try {
    localStorage.setItem(`${PREFIX}try`, '');
    localStorage.removeItem(`${PREFIX}try`);
    return true;
  } catch {
    return false; // storage is off or full: forms are sent the plain way
  }
}

export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(18));
  return btoa(String.fromCharCode(...bytes)).replaceAll('+', '-').replaceAll('/', '_');
}

// kind: "set", "undo", "pain", "note" or "bodyweight". Returns the entry as it is kept.
export function keep(entry) {
  const now = Date.now();
  const kept = { id: `${now}.${newKey().slice(0, 8)}`, made: now, at: new Date(now).toISOString(), received: 0, ...entry };
  localStorage.setItem(PREFIX + kept.id, JSON.stringify(kept));
  return kept;
}

export function change(entry, values) {
  Object.assign(entry, values);
  localStorage.setItem(PREFIX + entry.id, JSON.stringify(entry));
}

export function forget(entry) {
  localStorage.removeItem(PREFIX + entry.id);
}

// Everything of one client, in the order it was typed.
export function all(owner) {
  const found = [];
  for (let index = 0; index < localStorage.length; index += 1) {
    const name = localStorage.key(index);
    if (!name.startsWith(PREFIX)) continue;
    try {
      const entry = JSON.parse(localStorage.getItem(name));
      if (entry.owner === owner) found.push(entry);
    } catch {
      localStorage.removeItem(name);
    }
  }
  return found.sort((one, other) => one.made - other.made || (one.id < other.id ? -1 : 1));
}

export function waiting(owner) {
  return all(owner).filter((entry) => !entry.received);
}

// How many sets are still here alone: those taken back again don't count.
export function waitingSets(owner) {
  const rows = waiting(owner);
  const undone = new Set(rows.filter((entry) => entry.kind === 'undo').map((entry) => entry.fields.key));
  const keys = rows.filter((entry) => entry.kind === 'set').map((entry) => entry.fields.key);
  return new Set(keys.filter((key) => !undone.has(key))).size;
}

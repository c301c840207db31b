// Asks that the screen stays on while an exercise is open, and asks again when the page is seen again. A phone that
// refuses (low battery, plain http) loses nothing: times are reckoned from moments, not counted.

async function ask() {
  if (document.visibilityState !== 'visible') return;
  try {
    await navigator.wakeLock.request('screen');
  } catch {
    // Refused: the page works without it.
  }
}

export function start() {
  if (!('wakeLock' in navigator)) return;
  ask();
  document.addEventListener('visibilitychange', ask);
}

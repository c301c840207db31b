// Keeps the session's pages on the phone, where the browser allows it: over https, or on this machine.

const CACHE = 'coachdesk-sheets';
const OWNER = 'coachdesk.owner';

export function possible() {
  return window.isSecureContext && 'serviceWorker' in navigator;
}

function parts() {
  const named = [...document.querySelectorAll('link[rel="stylesheet"], link[rel="preload"], link[rel="icon"], script[src]')].map(
    (element) => element.href || element.src,
  );
  const loaded = performance.getEntriesByType('resource').map((entry) => entry.name);
  return [...new Set([...named, ...loaded])].filter((url) => url.startsWith(`${location.origin}/static/`));
}

export async function clear() {
  if ('caches' in window) await caches.delete(CACHE);
}

// Another person's pages never stay: whoever opens their link here starts with an empty cache.
async function changeOwner(owner) {
  try {
    if (localStorage.getItem(OWNER) === owner) return;
    await clear();
    localStorage.setItem(OWNER, owner);
  } catch {
    await clear();
  }
}

export async function start(owner, pages, words) {
  const place = document.getElementById('kept');
  if (!possible()) {
    if (place) place.textContent = words.notKept;
    return;
  }
  try {
    await changeOwner(owner);
    await navigator.serviceWorker.register('/sw.js', { scope: '/' });
    const registration = await navigator.serviceWorker.ready;
    navigator.serviceWorker.addEventListener('message', (event) => {
      if (event.data?.kept) {
        document.documentElement.dataset.kept = 'yes';
        if (place) place.textContent = words.kept;
      }
    });
    registration.active.postMessage({ keep: [...pages, ...parts()], cache: CACHE });
  } catch {
    if (place) place.textContent = words.notKept;
  }
}

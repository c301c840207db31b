// Lets the pages of the session at hand open without signal. Pages come from the desk whenever it answers in time, else
// from the phone; styles, scripts and letters come from the phone and are renewed behind the scenes. Nothing that
// changes anything passes through here.

const CACHE = 'coachdesk-sheets';
const PATIENCE_MS = 4000;
const PAGES = /^\/(today\/$|sheet\/[0-9a-f-]+\/(\d+\/|pain\/)?$)/;

self.addEventListener('install', () => self.skipWaiting());
self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));

const whole = (response) => response.ok && !response.redirected && response.type === 'basic';

async function renew(request) {
  const response = await fetch(request);
  if (whole(response)) {
    const cache = await caches.open(CACHE);
    // A page is kept under its plain address: ?set= and the like only open another part of it.
    const url = new URL(request.url);
    if (!url.search) await cache.put(url.pathname, response.clone());
  }
  return response;
}

async function page(request) {
  const kept = async () => {
    const cache = await caches.open(CACHE);
    return (await cache.match(new URL(request.url).pathname)) ?? (await cache.match('/today/'));
  };
  const fresh = renew(request);
  const late = new Promise((resolve) => {
    setTimeout(async () => resolve(await kept()), PATIENCE_MS);
  });
  try {
    return (await Promise.race([fresh, late])) ?? (await fresh);
  } catch {
    const found = await kept();
    return found ?? Response.error();
  }
}

async function part(request) {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(new URL(request.url).pathname);
  const fresh = renew(request).catch(() => kept ?? Response.error());
  return kept ?? fresh;
}

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.origin !== self.location.origin) return;
  if (event.request.mode === 'navigate' && PAGES.test(url.pathname)) event.respondWith(page(event.request));
  else if (url.pathname.startsWith('/static/')) event.respondWith(part(event.request));
});

async function keep(urls) {
  const cache = await caches.open(CACHE);
  let all = true;
  for (const url of urls) {
    try {
      const response = await fetch(url, { credentials: 'same-origin' });
      if (whole(response)) await cache.put(new URL(url, self.location.origin).pathname, response);
      else all = false;
    } catch {
      all = false;
    }
  }
  return all;
}

self.addEventListener('message', (event) => {
  if (!event.data?.keep) return;
  event.waitUntil(keep(event.data.keep).then((kept) => event.source?.postMessage({ kept })));
});

// A toast goes after ten seconds, unless the pointer or the focus rests on it; what it tells of stays in the undo list.
// Without script toasts stay until the next page.

const STAY = 10_000;
const region = document.getElementById('toasts');

function watch(toast) {
  let timer = 0;
  const stop = () => clearTimeout(timer);
  const start = () => {
    stop();
    timer = setTimeout(() => {
      if (toast.matches(':hover') || toast.contains(document.activeElement)) start();
      else toast.remove();
    }, STAY);
  };
  toast.addEventListener('focusin', stop);
  toast.addEventListener('focusout', start);
  toast.addEventListener('pointerenter', stop);
  toast.addEventListener('pointerleave', start);
  start();
}

function say(templateId) {
  const words = document.getElementById(templateId);
  if (words && region) region.replaceChildren(words.content.cloneNode(true));
}

if (region) {
  region.querySelectorAll('.toast').forEach(watch);
  new MutationObserver((changes) => {
    for (const change of changes) {
      for (const node of change.addedNodes) {
        if (node instanceof Element && node.matches('.toast')) watch(node);
      }
    }
  }).observe(region, { childList: true });
}

document.addEventListener('htmx:sendError', () => say('toast-unreachable'));
document.addEventListener('htmx:responseError', () => say('toast-refused'));

// A button that names its work (data-busy="Composing…") says so while the answer is on its way, at the same width.

const idle = new WeakMap();

function begin(button) {
  if (!button?.dataset.busy || idle.has(button)) return;
  button.style.minWidth = `${button.offsetWidth}px`;
  idle.set(button, [...button.childNodes]);
  button.replaceChildren(button.dataset.busy);
  button.setAttribute('aria-busy', 'true');
}

function end(button) {
  if (!idle.has(button)) return;
  button.replaceChildren(...idle.get(button));
  idle.delete(button);
  button.style.minWidth = '';
  button.removeAttribute('aria-busy');
}

const worker = (event) => event.detail?.requestConfig?.triggeringEvent?.submitter ?? event.target.closest?.('[data-busy]');

document.addEventListener('submit', (event) => {
  if (!event.defaultPrevented) begin(event.submitter);
});
document.addEventListener('htmx:beforeRequest', (event) => begin(worker(event)));
document.addEventListener('htmx:afterRequest', (event) => end(worker(event)));
// A page that the browser kept and shows again must not still say that it is working.
window.addEventListener('pageshow', () => document.querySelectorAll('[aria-busy][data-busy]').forEach(end));

// The Desk: the button that accepts all plain proposals says how many are left of them while clients are taken out.

const say = () => {
  const button = document.querySelector('[data-plain-count]');
  if (!button) return;
  const out = [...document.querySelectorAll('#plain-form input[data-count]:not(:checked)')];
  const count = Number(button.dataset.plainCount) - out.reduce((sum, box) => sum + Number(box.dataset.count), 0);
  button.textContent = (count === 1 ? button.dataset.one : button.dataset.many).replace('#', Math.max(0, count));
  button.disabled = count <= 0;
};

document.addEventListener('change', (event) => event.target.matches?.('#plain-form input[data-count]') && say());
document.addEventListener('htmx:oobAfterSwap', say);

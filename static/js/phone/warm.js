// Ticks of the warm-up stay on the phone: a warm-up is no working set, and nobody counts it.

export function start(page, session) {
  const name = `coachdesk.warm.${session}.${page.dataset.line}`;
  let ticked = [];
  try {
    ticked = JSON.parse(localStorage.getItem(name)) ?? [];
  } catch {
    ticked = [];
  }
  for (const box of page.querySelectorAll('[data-warm]')) {
    const show = () => {
      const drawn = page.querySelector(`.rung[data-rung="${box.dataset.warm}"]`);
      if (drawn) drawn.dataset.state = box.checked ? 'done' : 'todo';
    };
    box.checked = ticked.includes(box.dataset.warm);
    show();
    box.addEventListener('change', () => {
      show();
      const all = [...page.querySelectorAll('[data-warm]:checked')].map((one) => one.dataset.warm);
      localStorage.setItem(name, JSON.stringify(all));
    });
  }
}

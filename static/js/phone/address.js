// A page kept on the phone knows nothing of its ?swap= and ?day=: they are honoured here.
export function honour(page, asked) {
  const [swap, day] = [asked.get('swap'), asked.get('day')];
  if (day) {
    for (const field of page.querySelectorAll('[name="day"]')) field.value = day;
    for (const link of page.querySelectorAll('a[href*="/sheet/"]')) {
      const url = new URL(link.href);
      url.searchParams.set('day', day);
      link.href = url.href;
    }
  }
  const link = swap && page.dataset.swap !== swap ? page.querySelector(`[data-swap-to="${CSS.escape(swap)}"]`) : null;
  if (!link) return;
  page.querySelector('h1').textContent = link.textContent;
  page.querySelectorAll('.ladder, .plates').forEach((drawing) => drawing.remove());
  for (const form of page.querySelectorAll('form.log-set')) {
    form.elements.exercise.value = swap;
    if (!('edits' in form.dataset) && form.elements.load) form.elements.load.value = '';
  }
}

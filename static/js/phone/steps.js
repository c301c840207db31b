// − and + step through the loads that the place really offers, and reps by one; the field between takes any number,
// with comma or point.

const mark = () =>
  new Intl.NumberFormat(document.documentElement.lang).formatToParts(1.5).find((part) => part.type === 'decimal').value;

export function read(text) {
  const plain = text.trim().replace(',', '.').replace('−', '-');
  return /^-?\d+(\.\d*)?$/.test(plain) ? Number(plain) : null;
}

export function show(number) {
  return String(Math.round(number * 1000) / 1000).replace('.', mark());
}

function stepped(row, value, direction) {
  const loads = row.dataset.loads ? JSON.parse(row.dataset.loads).map(Number) : [];
  if (loads.length) {
    const next =
      direction > 0 ? loads.find((load) => load > value + 1e-6) : loads.findLast((load) => load < value - 1e-6);
    return next ?? value;
  }
  const by = Number(row.dataset.by ?? 2.5);
  return Math.max(0, value + direction * by);
}

// Calls changed(form) after a step.
export function start(form, changed) {
  for (const row of form.querySelectorAll('.step')) {
    const field = row.querySelector('input');
    if (!field) continue;
    for (const button of row.querySelectorAll('[data-step]')) {
      button.addEventListener('click', () => {
        const direction = Number(button.dataset.step);
        const value = read(field.value);
        const loads = row.dataset.loads ? JSON.parse(row.dataset.loads) : [];
        field.value = value === null && loads.length ? show(Number(loads[0])) : show(stepped(row, value ?? 0, direction));
        changed(form, field, button);
      });
    }
  }
}

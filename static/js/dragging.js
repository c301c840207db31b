// Rows are dragged by their .grip within the list that holds them: [data-list] around rows of [data-item]. Letting go
// calls dropped(row, list, place counted from 0); let go elsewhere, the row goes back. `takes(list, from)` says which
// further lists a row may go to.

export function draggable(root, { dropped, takes = () => false }) {
  let held = null;

  const rowsOf = (list) => [...list.children].filter((one) => one.matches('[data-item]'));

  root.addEventListener('dragstart', (event) => {
    const row = event.target instanceof Element && event.target.matches('.grip') ? event.target.closest('[data-item]') : null;
    if (!row) return;
    held = { row, from: row.closest('[data-list]'), next: row.nextElementSibling, done: false };
    event.dataTransfer.effectAllowed = 'move';
    event.dataTransfer.setData('text/plain', row.dataset.item);
    event.dataTransfer.setDragImage(row, 12, 12);
    row.classList.add('dragging');
  });

  root.addEventListener('dragover', (event) => {
    const list = held && event.target.closest(`[data-list="${held.from.dataset.list}"]`);
    if (!list || (list !== held.from && !takes(list, held.from))) return;
    event.preventDefault();
    const over = rowsOf(list).find((one) => one.contains(event.target));
    if (over === held.row) return;
    if (!over) {
      list.append(held.row);
      return;
    }
    const box = over.getBoundingClientRect();
    over[event.clientY < box.top + box.height / 2 ? 'before' : 'after'](held.row);
  });

  root.addEventListener('drop', (event) => {
    if (!held) return;
    event.preventDefault();
    held.done = true;
    const list = held.row.closest('[data-list]');
    if (list !== held.from || held.row.nextElementSibling !== held.next) {
      dropped(held.row, list, rowsOf(list).indexOf(held.row));
    }
  });

  root.addEventListener('dragend', () => {
    if (!held) return;
    held.row.classList.remove('dragging');
    const { row, from, next, done } = held;
    if (!done) from.insertBefore(row, next?.parentElement === from ? next : null);
    held = null;
  });
}

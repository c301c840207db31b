// The grid by keyboard: arrows move between cells, Enter goes down, and a block copied from a sheet spreads over the
// cells it is pasted on. Tab works as everywhere. Without script the grid is a plain form.

const cells = (row) => [...row.querySelectorAll('input.entry')];

function rows(grid) {
  return [...grid.querySelectorAll('tr')].map(cells).filter((row) => row.length > 0);
}

function placeOf(grid, cell) {
  const all = rows(grid);
  const down = all.findIndex((row) => row.includes(cell));
  return { all, down, across: all[down].indexOf(cell) };
}

function go(cell) {
  if (!cell) return false;
  cell.focus();
  cell.select();
  return true;
}

function move(grid, cell, key) {
  const { all, down, across } = placeOf(grid, cell);
  const edge = cell.selectionStart === cell.selectionEnd || cell.selectionEnd - cell.selectionStart === cell.value.length;
  switch (key) {
    case 'ArrowUp':
      return go(all[down - 1]?.[Math.min(across, all[down - 1].length - 1)]);
    case 'ArrowDown':
    case 'Enter':
      return go(all[down + 1]?.[Math.min(across, all[down + 1].length - 1)]);
    case 'ArrowLeft':
      return edge && cell.selectionStart === 0 && go(all[down][across - 1]);
    case 'ArrowRight':
      return edge && cell.selectionEnd === cell.value.length && go(all[down][across + 1]);
    default:
      return false;
  }
}

function spread(grid, cell, text) {
  const block = text.replace(/\r/g, '').replace(/\n$/, '').split('\n').map((line) => line.split('\t'));
  if (block.length === 1 && block[0].length === 1) return false;
  const { all, down, across } = placeOf(grid, cell);
  block.forEach((line, i) =>
    line.forEach((value, j) => {
      const target = all[down + i]?.[across + j];
      if (target) target.value = value.trim();
    }),
  );
  return true;
}

for (const grid of document.querySelectorAll('[data-grid]')) {
  grid.addEventListener('keydown', (event) => {
    if (!event.target.matches('input.entry') || event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    if (event.key === 'Enter' && event.shiftKey) return;
    if (move(grid, event.target, event.key)) event.preventDefault();
  });
  grid.addEventListener('paste', (event) => {
    if (!event.target.matches('input.entry')) return;
    if (spread(grid, event.target, event.clipboardData?.getData('text') ?? '')) event.preventDefault();
  });
}

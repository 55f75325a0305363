/**
 * The only script of the page: columns that sort, and folded parts that open for printing (but for long lists). The page is complete without it.
 */
export const SCRIPT = `
for (const head of document.querySelectorAll('table.data thead th')) {
  const button = document.createElement('button');
  button.type = 'button';
  button.title = 'Sort by this column';
  button.append(...head.childNodes);
  head.append(button);
  button.addEventListener('click', () => {
    const column = head.cellIndex;
    const up = head.getAttribute('aria-sort') !== 'ascending';
    for (const other of head.parentNode.children) other.removeAttribute('aria-sort');
    head.setAttribute('aria-sort', up ? 'ascending' : 'descending');
    const body = head.closest('table').tBodies[0];
    const key = (row) => {
      const cell = row.cells[column];
      if (cell.dataset.value !== undefined) return Number(cell.dataset.value);
      return cell.classList.contains('none') ? null : cell.textContent;
    };
    const rows = [...body.rows].map((row) => [key(row), row]);
    rows.sort(([a], [b]) => {
      if (a === null || b === null) return (a === null) - (b === null);
      const order = typeof a === 'number' && typeof b === 'number' ? a - b : String(a).localeCompare(String(b), 'en', { numeric: true });
      return up ? order : -order;
    });
    body.append(...rows.map(([, row]) => row));
  });
}
const folded = new Set();
addEventListener('beforeprint', () => {
  for (const part of document.querySelectorAll('details:not([open], .more)')) { folded.add(part); part.open = true; }
});
addEventListener('afterprint', () => {
  for (const part of folded) part.open = false;
  folded.clear();
});
`;

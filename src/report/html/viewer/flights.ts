/// <reference lib="dom" />
import type { MapView } from './map.js';

/** Longest name that stays on one line with its button, characters. */
const SHORT = 44;

/** Adds a button to every row that names a place. The button shows the place on the map; the Escape key goes back to the row. */
export function startFlights(map: MapView): void {
  let from: HTMLElement | null = null;
  for (const row of document.querySelectorAll<HTMLElement>('[data-x]')) {
    const button = document.createElement('button');
    button.type = 'button';
    button.className = 'fly';
    button.textContent = 'map';
    const name = row.dataset.name ?? row.querySelector('th, td')?.textContent ?? '';
    button.setAttribute('aria-label', `Show on the map: ${name.trim()}`);
    button.addEventListener('click', () => {
      from = button;
      map.show(Number(row.dataset.x), Number(row.dataset.y), Number(row.dataset.reach ?? 10));
      map.canvas.closest('section')?.scrollIntoView({ block: 'start' });
      map.canvas.focus({ preventScroll: true });
      const say = document.getElementById('map-say');
      if (say) say.textContent = `The map shows ${name.trim()}. Escape goes back.`;
    });
    const cell = row.querySelector('.goes') ?? row.firstElementChild ?? row;
    if (name.trim().length <= SHORT) cell.classList.add('keep');
    cell.append(' ', button);
  }
  map.canvas.addEventListener('keydown', (event) => {
    if (event.key !== 'Escape' || !from) return;
    from.scrollIntoView({ block: 'center' });
    from.focus({ preventScroll: true });
    from = null;
    map.target = null;
    map.redraw();
  });
}

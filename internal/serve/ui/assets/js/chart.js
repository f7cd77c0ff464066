// @ts-check
/**
 * Reads a chart out: a cross-hair follows the pointer or the arrow keys and the
 * figures under it stand below the drawing. Without this the browser shows the
 * same words as a title, and the table holds them all.
 */

const ns = 'http://www.w3.org/2000/svg';

/** @param {HTMLElement} figure */
function read(figure) {
  /** The drawing that fits, and its columns. */
  const shown = () => {
    for (const svg of figure.querySelectorAll('svg.chart-svg')) {
      if (svg instanceof SVGSVGElement && svg.getClientRects().length > 0) {
        return { svg, hits: [.../** @type {NodeListOf<SVGRectElement>} */ (svg.querySelectorAll('.hits rect'))] };
      }
    }
    return undefined;
  };
  const first = shown();
  if (!first || first.hits.length === 0) return;

  const say = document.createElement('output');
  say.className = 'chart-say';
  say.setAttribute('aria-live', 'polite');
  figure.querySelector('.chart-wide')?.after(say);
  figure.tabIndex = 0;
  figure.setAttribute('role', 'group');
  const name = first.svg.querySelector('title')?.textContent ?? 'Chart';
  figure.setAttribute('aria-label', `${name}. Arrow keys read it out.`);

  /** The words of each column: taken out of <title>, so that they are not shown twice. */
  const words = new Map();
  for (const rect of figure.querySelectorAll('.hits rect')) {
    const title = rect.querySelector('title');
    words.set(rect, title?.textContent ?? '');
    title?.remove();
  }

  let at = -1;
  /** @param {number} i */
  const point = (i) => {
    const now = shown();
    if (!now || now.hits.length === 0) return;
    at = Math.min(Math.max(i, 0), now.hits.length - 1);
    const hit = now.hits[at];
    say.textContent = words.get(hit);
    figure.querySelectorAll('.chart-cross').forEach((old) => old.remove());
    const cross = document.createElementNS(ns, 'path');
    const x = hit.dataset.x ?? '0';
    const y = Number(hit.getAttribute('y'));
    cross.setAttribute('class', 'chart-cross');
    cross.setAttribute('d', `M${x} ${y}v${hit.getAttribute('height')}`);
    now.svg.append(cross);
    if (hit.dataset.y) {
      const dot = document.createElementNS(ns, 'circle');
      dot.setAttribute('class', 'chart-cross');
      dot.setAttribute('cx', x);
      dot.setAttribute('cy', hit.dataset.y);
      dot.setAttribute('r', '4');
      dot.setAttribute('fill', 'none');
      now.svg.append(dot);
    }
  };
  const clear = () => {
    at = -1;
    say.textContent = '';
    figure.querySelectorAll('.chart-cross').forEach((old) => old.remove());
  };

  figure.addEventListener('pointermove', (event) => {
    const now = shown();
    if (!now || !(event.target instanceof Element) || !now.svg.contains(event.target)) return;
    const box = now.svg.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * now.svg.viewBox.baseVal.width;
    let best = 0;
    now.hits.forEach((hit, i) => {
      if (Math.abs(Number(hit.dataset.x) - x) < Math.abs(Number(now.hits[best].dataset.x) - x)) best = i;
    });
    point(best);
  });
  figure.addEventListener('pointerleave', (event) => {
    if (event.pointerType === 'mouse' && document.activeElement !== figure) clear();
  });
  figure.addEventListener('keydown', (event) => {
    if (event.target !== figure) return;
    const last = (shown()?.hits.length ?? 1) - 1;
    const start = at < 0 ? last : at;
    /** @type {Record<string, number>} */
    const to = { ArrowLeft: at < 0 ? last : start - 1, ArrowRight: at < 0 ? 0 : start + 1, Home: 0, End: last };
    if (event.key === 'Escape') return clear();
    if (event.key in to) {
      event.preventDefault();
      point(to[event.key]);
    }
  });
  figure.addEventListener('blur', clear);
}

for (const figure of document.querySelectorAll('[data-chart]')) {
  if (figure instanceof HTMLElement) read(figure);
}

export {};

// @ts-check
/**
 * The river under the hand: it slides by dragging, names stay in sight, the wine
 * under the pointer is read out, and a wine that was chosen stands out with all that
 * flows into it and out of it. Without this it scrolls, each wine is a link to its
 * page, and the table holds the figures.
 */

const day = new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', year: 'numeric' });

/** @param {HTMLElement} figure */
function river(figure) {
  const say = document.createElement('output');
  say.className = 'chart-say';
  say.setAttribute('aria-live', 'polite');
  figure.querySelector('.river-key')?.before(say);

  /** @param {Element} inside */
  const svgOf = (inside) => /** @type {SVGSVGElement} */ (inside.closest('svg'));

  // Which wine flows into which, by reach.
  /** @type {Map<string, Set<string>>} */
  const into = new Map();
  /** @type {Map<string, Set<string>>} */
  const out = new Map();
  /** @param {Map<string, Set<string>>} way @param {string} a @param {string} b */
  const link = (way, a, b) => way.set(a, (way.get(a) ?? new Set()).add(b));
  for (const flow of /** @type {NodeListOf<SVGElement>} */ (figure.querySelectorAll('.flow'))) {
    const { out: a, in: b } = flow.dataset;
    if (a && b && a !== b) {
      link(out, a, b);
      link(into, b, a);
    }
  }
  /** @param {string} start */
  const kin = (start) => {
    const found = new Set([start]);
    for (const way of [into, out]) {
      const queue = [start];
      const seen = new Set(queue);
      for (let at = queue.pop(); at !== undefined; at = queue.pop()) {
        for (const next of way.get(at) ?? []) {
          if (seen.has(next)) continue;
          seen.add(next);
          found.add(next);
          queue.push(next);
        }
      }
    }
    return found;
  };

  /** @type {string | undefined} */
  let chosen;
  /** @param {string | undefined} reach */
  const choose = (reach) => {
    chosen = reach;
    const near = reach === undefined ? undefined : kin(reach);
    for (const r of /** @type {NodeListOf<SVGElement>} */ (figure.querySelectorAll('.reach'))) {
      r.classList.toggle('aside', near !== undefined && !near.has(r.dataset.reach ?? ''));
    }
    for (const f of /** @type {NodeListOf<SVGElement>} */ (figure.querySelectorAll('.flow'))) {
      f.classList.toggle('aside', near !== undefined && !(near.has(f.dataset.out ?? '') && near.has(f.dataset.in ?? '')));
    }
  };

  /**
   * What a band holds at a place of the drawing, in words.
   * @param {SVGElement} band @param {number} x
   */
  const words = (band, x) => {
    const svg = svgOf(band);
    const reach = /** @type {SVGElement | null} */ (band.closest('.reach'));
    const lot = reach?.querySelector('.name')?.textContent?.replace(/, [\d.]+ L$/, '') ?? '';
    let litres = '';
    for (const step of (band.dataset.held ?? '').split(';')) {
      const [from, held] = step.split(',');
      if (Number(from) <= x + 0.5) litres = held;
    }
    const { from, to, a, b } = svg.dataset;
    let when = '';
    if (from && to && a && b) {
      const t = Number(from) + ((x - Number(a)) / (Number(b) - Number(a))) * (Number(to) - Number(from));
      when = day.format(new Date(t * 1000)) + ': ';
    }
    const name = band.dataset.name ?? '';
    return `${when}${lot === name ? name : `${lot}, ${name}`}${litres ? `, ${litres}` : ''}`;
  };

  /** @param {PointerEvent | MouseEvent} event */
  const bandUnder = (event) =>
    event.target instanceof Element ? /** @type {SVGElement | null} */ (event.target.closest('.band')) : null;
  /** @param {SVGElement} band @param {MouseEvent} event */
  const placeOn = (band, event) => {
    const svg = svgOf(band);
    const box = svg.getBoundingClientRect();
    return ((event.clientX - box.left) / box.width) * svg.viewBox.baseVal.width;
  };

  figure.addEventListener('pointermove', (event) => {
    const band = bandUnder(event);
    if (band && !dragged) say.textContent = words(band, placeOn(band, event));
  });

  // A press on a wine chooses it; the link to its page then stands under the river.
  figure.addEventListener('click', (event) => {
    if (!(event.target instanceof Element) || event.detail === 0) return; // the keyboard follows the link
    if (dragged) {
      event.preventDefault();
      return;
    }
    const reach = /** @type {SVGElement | null} */ (event.target.closest('.reach'));
    if (!reach) {
      if (event.target.closest('svg')) choose(undefined);
      return;
    }
    event.preventDefault();
    choose(reach.dataset.reach);
    const band = bandUnder(event);
    const link = reach.querySelector('a');
    say.textContent = band ? `${words(band, placeOn(band, event))}. ` : '';
    const url = link?.getAttribute('href');
    if (url) {
      const open = document.createElement('a');
      open.href = url;
      open.textContent = 'Open this wine';
      const only = document.createElement('a');
      only.href = `/cellar?of=${encodeURIComponent(chosen ?? '')}#river`;
      only.textContent = 'Only what it touches';
      say.append(open, ' ', only);
    }
  });
  figure.addEventListener('keydown', (event) => {
    if (event.key === 'Escape') choose(undefined);
  });
  for (const link of figure.querySelectorAll('.reach a')) {
    link.addEventListener('focus', () => choose(/** @type {SVGElement} */ (link.closest('.reach')).dataset.reach));
  }

  // Sliding.
  let dragged = false;
  const pan = figure.querySelector('.river-pan');
  const svg = pan?.querySelector('svg');
  if (!(pan instanceof HTMLElement) || !(svg instanceof SVGSVGElement)) return;
  pan.scrollLeft = Number(svg.dataset.now ?? 0) - pan.clientWidth * 0.72;

  const names = /** @type {SVGTextElement[]} */ ([...svg.querySelectorAll('.name')]);
  const now = Number(svg.dataset.now ?? 0);
  let asked = false;
  const keepNames = () => {
    asked = false;
    for (const name of names) {
      const from = Number(name.dataset.from);
      const to = Number(name.dataset.to);
      let x = Math.max(from, Math.min(pan.scrollLeft + 6, to));
      // Not under the line of today, unless the band ends there.
      if (x > from && x < now && now < x + name.getComputedTextLength()) x = Math.min(now + 6, to);
      name.setAttribute('x', String(x));
    }
  };
  pan.addEventListener('scroll', () => {
    if (!asked) requestAnimationFrame(keepNames);
    asked = true;
  });
  keepNames();

  let from = 0;
  let left = 0;
  let held = false;
  pan.addEventListener('pointerdown', (event) => {
    dragged = false;
    if (event.pointerType !== 'mouse' || event.button !== 0) return; // a finger scrolls by itself
    held = true;
    from = event.clientX;
    left = pan.scrollLeft;
  });
  window.addEventListener('pointermove', (event) => {
    if (!held) return;
    if (Math.abs(event.clientX - from) > 4) dragged = true;
    if (dragged) pan.scrollLeft = left - (event.clientX - from);
  });
  window.addEventListener('pointerup', () => {
    held = false;
    setTimeout(() => (dragged = false)); // after the click that ends a drag
  });
  pan.addEventListener('dragstart', (event) => event.preventDefault());
}

for (const figure of document.querySelectorAll('[data-river]')) {
  if (figure instanceof HTMLElement) river(figure);
}

export {};

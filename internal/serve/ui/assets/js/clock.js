// @ts-check
/**
 * Counts down to each step of a timetable. Without this the steps stand there with
 * the hours at which they are due. The beginning is in the address, so nothing is
 * lost when the page is loaded again.
 */

const minute = 60_000;

/**
 * How long is left, or has passed, in words.
 * @param {number} ms
 */
function span(ms) {
  const s = Math.floor(Math.abs(ms) / 1000);
  const d = Math.floor(s / 86_400);
  const h = Math.floor((s % 86_400) / 3600);
  const m = Math.floor((s % 3600) / 60);
  if (d > 0) return `${d} d ${h} h`;
  if (h > 0) return `${h} h ${m} min`;
  return `${m}:${String(s % 60).padStart(2, '0')}`;
}

/** @param {HTMLElement} list */
function run(list) {
  const say = document.querySelector('[data-clock-say]');
  const off = Number(list.dataset.clock) - Date.now(); // the phone's clock may be wrong
  const steps = [...list.querySelectorAll('li[data-due]')].filter((li) => li instanceof HTMLElement);
  let current = -2;
  /** @type {number | undefined} */
  let timer;

  const tick = () => {
    const now = Date.now() + off;
    let at = -1;
    steps.forEach((li, i) => {
      if (!(li instanceof HTMLElement)) return;
      const due = Number(li.dataset.due);
      const late = Number(li.dataset.late ?? 0);
      const left = li.querySelector('[data-clock-left]');
      const next = steps[i + 1];
      const over = next instanceof HTMLElement && now >= Number(next.dataset.due);
      if (now >= due) at = i;
      if (left) {
        if (now < due) left.textContent = `in ${span(due - now)}`;
        else if (over) left.textContent = '';
        else if (late > 0 && now > late) left.textContent = `${span(now - late)} late`;
        else left.textContent = 'now';
      }
      li.toggleAttribute('data-over', over);
      if (now >= due && !over) li.setAttribute('aria-current', 'step');
      else li.removeAttribute('aria-current');
    });
    if (at !== current && say) {
      const words = steps[at]?.querySelector('.clock-do')?.textContent;
      if (current !== -2 && words) say.textContent = words; // not on loading: only as it falls due
      current = at;
    }
    const next = steps[at + 1];
    const wait = next instanceof HTMLElement && Number(next.dataset.due) - now > 60 * minute ? minute : 1000;
    clearTimeout(timer);
    timer = setTimeout(tick, wait);
  };
  tick();
  document.addEventListener('visibilitychange', () => {
    if (!document.hidden) tick();
  });
}

for (const list of document.querySelectorAll('[data-clock]')) {
  if (list instanceof HTMLElement) run(list);
}

export {};

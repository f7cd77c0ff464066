// @ts-check
/**
 * Switches the theme at once instead of by a round trip. The form works without this.
 * The choice lives in a cookie, so the server writes it into the next page and nothing flashes.
 */

const year = 365 * 24 * 3600;

/** @param {SubmitEvent} event */
function switchTheme(event) {
  const button = event.submitter;
  if (!(button instanceof HTMLButtonElement) || button.name !== 'theme') return;
  event.preventDefault();
  document.documentElement.dataset.theme = button.value;
  document.cookie = `theme=${button.value}; Path=/; Max-Age=${year}; SameSite=Lax`;
  const other = document.querySelector(`form.theme button:not([value="${button.value}"])`);
  if (other instanceof HTMLElement) other.focus();
}

for (const form of document.querySelectorAll('form.theme')) {
  form.addEventListener('submit', (event) => switchTheme(/** @type {SubmitEvent} */ (event)));
}

export {};

// @ts-check
/**
 * Shows what a typed line is taken to mean while it is typed. Without this the
 * line is sent, read, and shown on a page of its own before it is kept.
 *
 * The server answers GET <data-preview>?line=… with the part "understood" as
 * HTML; a token in it ("seen") goes back with the line and says that this
 * reading of it was on the screen when Keep was pressed.
 */

const pause = 220; // ms of quiet before asking

/** @param {HTMLFormElement} form */
function watch(form) {
  const input = form.querySelector('input[name=line]');
  const said = form.querySelector('[data-log-said]');
  const send = form.querySelector('button');
  const url = form.dataset.preview;
  if (!(input instanceof HTMLInputElement) || !(said instanceof HTMLElement) || !send || !url) return;

  /** @type {number | undefined} */
  let timer;
  /** @type {AbortController | undefined} */
  let asking;

  /** @param {string} html */
  const show = (html) => {
    said.innerHTML = html; // made by our own server, which escapes what was typed
    send.textContent = said.querySelector('[name=seen]') ? 'Keep' : 'Read';
  };

  const ask = async () => {
    asking?.abort();
    const line = input.value.trim();
    if (line === '') return show('');
    asking = new AbortController();
    try {
      const answer = await fetch(`${url}?line=${encodeURIComponent(line)}`, {
        signal: asking.signal,
        headers: { Accept: 'text/html' },
      });
      if (answer.ok && input.value.trim() === line) show(await answer.text());
    } catch {
      // Gone, or overtaken by the next letter: the form still works by itself.
    }
  };

  input.addEventListener('input', () => {
    // What was shown no longer belongs to what is typed.
    said.querySelector('[name=seen]')?.remove();
    send.textContent = 'Read';
    clearTimeout(timer);
    timer = setTimeout(ask, pause);
  });
}

for (const form of document.querySelectorAll('form.log')) {
  if (form instanceof HTMLFormElement) watch(form);
}

// "/" puts the cursor into the line, unless something is being typed elsewhere.
document.addEventListener('keydown', (event) => {
  if (event.key !== '/' || event.ctrlKey || event.metaKey || event.altKey) return;
  const at = document.activeElement;
  if (at instanceof HTMLElement && (at.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(at.tagName))) return;
  const line = document.getElementById('log-line');
  if (line) {
    event.preventDefault();
    line.focus();
  }
});

export {};

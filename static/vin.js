// A VIN is judged while one types it; the server says what the check digit says.
const field = document.querySelector('input[name="vin"]');
const hint = field && document.getElementById(`${field.id}-hint`);
if (hint) {
  const usual = hint.textContent;
  let waiting;
  hint.setAttribute('aria-live', 'polite');
  field.addEventListener('input', () => {
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      const typed = field.value;
      const answer = await fetch(`/vin?v=${encodeURIComponent(typed)}`).catch(() => null);
      // A session that ended answers with another page.
      if (answer && answer.ok && !answer.redirected && field.value === typed) hint.textContent = (await answer.text()) || usual;
    }, 400);
  });
}

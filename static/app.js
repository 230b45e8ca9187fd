// What a tablet adds to pages that work without any script.
import './drafts.js';
import './gloves.js';
import './live.js';
import './away.js';
import './dates.js';
import './vin.js';

// Cars are found while one types.
const find = document.querySelector('[data-find]');
const found = document.getElementById('found');
if (find && found) {
  let waiting;
  find.addEventListener('input', () => {
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      const typed = find.value;
      const answer = await fetch(`${find.dataset.find}?q=${encodeURIComponent(typed)}`).catch(() => null);
      if (answer && answer.ok && find.value === typed) found.innerHTML = await answer.text();
    }, 180);
  });
}

// Every date on a page is written one way. A browser's own field follows the tablet's settings, perhaps month first: beside it stands what it says.

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

all();
document.addEventListener('live', all);
document.addEventListener('input', (event) => say(event.target));
document.addEventListener('change', (event) => say(event.target));

function all() {
  document.querySelectorAll('input[type=date], input[type=datetime-local]').forEach(say);
}

/// "2027-05-12T10:46" is "12 May 2027, 10:46".
function written(value) {
  const [, year, month, day, clock] = value.match(/^(\d{4})-(\d{2})-(\d{2})(?:T(\d{2}:\d{2}))?/) ?? [];
  return year ? `${Number(day)} ${MONTHS[month - 1]} ${year}${clock ? `, ${clock}` : ''}` : '';
}

function say(field) {
  if (!(field instanceof HTMLInputElement) || !['date', 'datetime-local'].includes(field.type)) return;
  const told = written(field.value);
  const beside = field.parentElement.querySelector('[data-written]');
  if (beside) beside.textContent = told;
  else if (told) field.insertAdjacentElement('afterend', element(told));
}

function element(told) {
  const span = document.createElement('span');
  span.className = 'unit';
  span.dataset.written = '';
  span.textContent = told;
  return span;
}

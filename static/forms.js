// What somebody typed into a form.

/// The fields that a person fills in.
export function fields(form) {
  return [...form.elements].filter((e) => e.name && !['hidden', 'submit', 'button', 'fieldset', 'password', 'file'].includes(e.type));
}

/// Whether a field says something else than when the page came.
export function fieldChanged(field) {
  if (field.type === 'radio' || field.type === 'checkbox') return field.checked !== field.defaultChecked;
  if (field.tagName === 'SELECT') return [...field.options].some((o) => o.selected !== o.defaultSelected) && field.value !== firstChoice(field);
  return field.value !== field.defaultValue;
}

/// A list without a chosen line shows its first.
function firstChoice(select) {
  const chosen = [...select.options].find((o) => o.defaultSelected) ?? select.options[0];
  return chosen ? chosen.value : '';
}

/// Whether anything was typed or chosen.
export function changed(form) {
  return fields(form).some(fieldChanged) || [...form.elements].some((e) => ['password', 'file'].includes(e.type) && e.value !== '');
}

/// Whether an element is one that is typed into.
export function typedInto(element) {
  return element.matches('input, select, textarea');
}

/// By what a draft is known: person, address, and what the form is about (an entry that is corrected, a car that was here before).
export function draftKey(person, path, value) {
  const about = ['piece', 'vehicle', 'like'].map((name) => value(name) ?? '').join(' ');
  return JSON.stringify([person, path, about]);
}

/** Fields whose content the browser's framework sets back to what the page came with, once its script takes them over. */
type Field = HTMLTextAreaElement | HTMLSelectElement;

const early = new Map<Field, string>();
const isField = (target: unknown): target is Field => target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement;
const note = (field: Field): void => {
  early.set(field, field.value);
};

// Typed before this came, and from now on until a form takes its fields over.
if (typeof document !== "undefined") {
  for (const field of document.querySelectorAll<Field>("textarea, select")) if (isTouched(field)) note(field);
  document.addEventListener("input", ({ target }) => (isField(target) ? note(target) : undefined), true);
}

/** Whether it holds something else than the page came with; a list without a chosen entry came with its first. */
function isTouched(field: Field): boolean {
  if (field instanceof HTMLTextAreaElement) return field.value !== field.defaultValue;
  const options = [...field.options];
  return field.selectedIndex !== Math.max(0, options.findIndex((each) => each.defaultSelected));
}

/** Gives the fields of a form back what was typed into them before the script ran, and tells whoever listens. */
export function giveBackEarly(form: HTMLFormElement): void {
  for (const field of form.elements) {
    if (!isField(field)) continue;
    const typed = early.get(field);
    early.delete(field);
    if (typed === undefined || field.value === typed) continue;
    // Past the framework's own setter, or it would take the event for one of its own making.
    Object.getOwnPropertyDescriptor(Object.getPrototypeOf(field) as object, "value")?.set?.call(field, typed);
    field.dispatchEvent(new Event(field instanceof HTMLSelectElement ? "change" : "input", { bubbles: true }));
  }
}

/** Marks an element whose content would go with the page though no field holds it, such as chosen photos. */
export const UNSENT = "data-unsent";

/** Whether something on the page was typed, chosen or made and has not been sent. */
export function hasUnsent(page: ParentNode): boolean {
  if (page.querySelector(`[${UNSENT}="true"]`)) return true;
  const fields = page.querySelectorAll<HTMLInputElement | HTMLTextAreaElement>("textarea, input:not([type=hidden])");
  return [...fields].some((field) => {
    if (!(field instanceof HTMLInputElement)) return field.value !== field.defaultValue;
    if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
    return field.type === "file" ? (field.files?.length ?? 0) > 0 : field.value !== field.defaultValue;
  });
}

import { isTyping, singleKeysAreOn } from "@/app/desk/single-keys";

const VERDICTS: Readonly<Record<string, string>> = { 1: "in-place", 2: "fix", 3: "not-visible", 4: "not-part" };
const IN_HAND = "data-in-hand";
/** Set while digits choose a cue: right after the item was judged to be fixed. */
const CHOOSING = "data-choosing";

const itemsOf = (form: HTMLFormElement) => [...form.querySelectorAll<HTMLElement>("fieldset[data-item]")];
const inHandOf = (form: HTMLFormElement) => form.querySelector<HTMLElement>(`[${IN_HAND}]`);
const verdictOf = (item: HTMLElement) => item.querySelector<HTMLInputElement>("input[name^='verdict.']:checked");
const cuesOf = (item: HTMLElement) => [...item.querySelectorAll<HTMLInputElement>("[data-fix] input[type=radio]")];

/** Marks the item that the focus is in; it stays in hand while the focus is elsewhere in the form. */
export function takeInHand(form: HTMLFormElement, at: EventTarget | null): void {
  const item = at instanceof Element ? at.closest("fieldset[data-item]") : null;
  if (!item || item.hasAttribute(IN_HAND)) return;
  for (const each of itemsOf(form)) for (const name of [IN_HAND, CHOOSING]) each.removeAttribute(name);
  item.setAttribute(IN_HAND, "");
}

/** Does what a key stands for; false when it stands for nothing here. With no item in hand a digit judges nothing. */
export function pressKey(form: HTMLFormElement, key: string, at: EventTarget | null): boolean {
  const item = inHandOf(form);
  if (isTyping(at)) {
    const isOwnWords = at instanceof HTMLInputElement && at.name.startsWith("words.");
    return isOwnWords && key === "Enter" && goOn(form, item);
  }
  if (!singleKeysAreOn()) return false;
  const items = itemsOf(form);
  if (item && /^[0-9]$/.test(key)) return item.hasAttribute(CHOOSING) ? chooseCue(form, item, Number(key)) : judge(form, item, key);
  switch (key) {
    case "n":
      return take(items[Math.min(item ? items.indexOf(item) + 1 : 0, items.length - 1)]);
    case "p":
      return take(items[Math.max(item ? items.indexOf(item) - 1 : 0, 0)]);
    case "r":
      return press(form.querySelector<HTMLInputElement>("input[name=rest]"));
    case "w":
      return focus(item?.querySelector<HTMLInputElement>("input[name^='words.']"));
    case "s":
      return focus(form.querySelector<HTMLTextAreaElement>("textarea[name=summary]"));
    case "x":
      return openAgain();
    default:
      return take(items.find((each) => each.dataset["letter"] === key));
  }
}

function judge(form: HTMLFormElement, item: HTMLElement, key: string): boolean {
  const radio = item.querySelector<HTMLInputElement>(`input[name^='verdict.'][value="${VERDICTS[key] ?? ""}"]`);
  if (!radio) return false;
  radio.focus();
  radio.click();
  if (radio.value !== "fix") return goOn(form, item) || true;
  const [first] = cuesOf(item);
  item.toggleAttribute(CHOOSING, first !== undefined);
  return focus(first ?? item.querySelector<HTMLInputElement>("input[name^='words.']")) || true;
}

function chooseCue(form: HTMLFormElement, item: HTMLElement, nth: number): boolean {
  const cue = cuesOf(item).find((each) => each.dataset["cueIndex"] === String(nth));
  if (!cue) return false;
  cue.click();
  item.removeAttribute(CHOOSING);
  return goOn(form, item) || true;
}

/** On to the next item that is asked and not judged yet; false when there is none. */
function goOn(form: HTMLFormElement, item: HTMLElement | null): boolean {
  const items = itemsOf(form);
  const after = [...items.slice(item ? items.indexOf(item) + 1 : 0), ...items];
  return take(after.find((each) => each !== item && each.hasAttribute("data-asked") && !verdictOf(each)));
}

function take(item: HTMLElement | undefined): boolean {
  const radio = item && (verdictOf(item) ?? item.querySelector<HTMLInputElement>("input[name^='verdict.']"));
  item?.scrollIntoView({ block: "nearest" });
  return focus(radio);
}

function openAgain(): boolean {
  const again = document.querySelector<HTMLDetailsElement>("details[data-again]");
  if (!again) return false;
  again.open = true;
  return focus(again.querySelector<HTMLElement>("textarea, input:not([type=hidden])"));
}

function press(box: HTMLElement | null): boolean {
  box?.click();
  return box !== null;
}

function focus(at: HTMLElement | null | undefined): boolean {
  at?.focus();
  return at !== null && at !== undefined;
}

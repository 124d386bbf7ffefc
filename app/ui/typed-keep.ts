/** What was typed into a form that must outlive one reload: in this tab alone, and gone once it is read. */
const PREFIX = "trueside.typed.";

/** Forms of one page are told apart by what they are called. */
export const typedKey = (label: string | undefined): string => `${PREFIX}${window.location.pathname} ${label ?? ""}`;

/** False where the browser keeps nothing. */
export function keepTyped(key: string, typed: Readonly<Record<string, string>>): boolean {
  try {
    window.sessionStorage.setItem(key, JSON.stringify(typed));
    return true;
  } catch {
    return false;
  }
}

export function takeTyped(key: string): Readonly<Record<string, string>> | null {
  try {
    const text = window.sessionStorage.getItem(key);
    window.sessionStorage.removeItem(key);
    const kept: unknown = JSON.parse(text ?? "null");
    if (typeof kept !== "object" || kept === null) return null;
    return Object.fromEntries(Object.entries(kept).filter((field): field is [string, string] => typeof field[1] === "string"));
  } catch {
    return null; // forbidden, or somebody else's text under our name
  }
}

/** As the server gives it back, several ticks of one name a line each; codes and the form's own key are not kept. */
export function typedOf(form: FormData): Readonly<Record<string, string>> {
  const names = [...new Set(form.keys())].filter((name) => !/^(?:\$.*|once|code)$/.test(name));
  return Object.fromEntries(names.map((name) => [name, form.getAll(name).filter((value) => typeof value === "string").join("\n")]));
}

/** What was changed in a form after it was sent: fields that hold something else by now, and those of the ticks that are all gone. */
export function typedSince(sent: FormData, now: FormData, ticks: readonly string[]): Readonly<Record<string, string>> {
  const [before, after] = [typedOf(sent), typedOf(now)];
  const changed = Object.entries(after).filter(([name, value]) => before[name] !== value);
  const gone = ticks.filter((name) => name in before && !(name in after)).map((name) => [name, ""] as const);
  return Object.fromEntries([...changed, ...gone]);
}

import "server-only";

/** Every form carries them: the key that makes the act happen once, and whom it is about. */
const OWN_FIELDS = ["once", "childId", "familyId"] as const;

/** Fields sent once are strings, fields sent several times are arrays of strings; files are not taken. */
export function fieldsOf(form: FormData): Record<string, string | string[]> {
  const fields: Record<string, string | string[]> = Object.create(null);
  for (const name of new Set(form.keys())) {
    // `$ACTION_…` fields are the framework's own.
    if (name.startsWith("$") || (OWN_FIELDS as readonly string[]).includes(name)) continue;
    const values = form.getAll(name).filter((value) => typeof value === "string");
    const [only] = values;
    if (only !== undefined) fields[name] = values.length === 1 ? only : values;
  }
  return { ...fields };
}

/** What was typed, for the form to show again; several ticks of one name a line each. Whom it is about may have been chosen too. */
export function typedIn(form: FormData): Record<string, string> {
  const childId = form.get("childId");
  const typed = Object.entries(fieldsOf(form)).map(([name, value]) => [name, typeof value === "string" ? value : value.join("\n")]);
  return { ...Object.fromEntries(typed), ...(typeof childId === "string" ? { childId } : {}) };
}

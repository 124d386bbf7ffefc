/** A form of a page as a browser would send it: the act behind it, and its fields, those left open filled in. */
export type FoundForm = { readonly actionId: string; readonly fields: Readonly<Record<string, string>> };

const attribute = (tag: string, name: string): string | null => {
  const [, value] = new RegExp(`\\s${name}="([^"]*)"`).exec(tag) ?? [];
  return value === undefined ? null : plain(value);
};
const plain = (text: string): string => text.replaceAll("&quot;", '"').replaceAll("&#x27;", "'").replaceAll("&lt;", "<").replaceAll("&gt;", ">").replaceAll("&amp;", "&");
const has = (tag: string, name: string): boolean => new RegExp(`\\s${name}(?:[\\s=>/]|$)`).test(tag);

/** Every form of our acts in a page. React writes the act's id beside the fields, so that it works before scripts run. */
export function formsIn(html: string): readonly FoundForm[] {
  return [...html.matchAll(/<form\b[^>]*>([\s\S]*?)<\/form>/g)].flatMap(([, inside = ""]) => {
    const fields = filled(inside);
    const bound = Object.entries(fields).find(([name]) => /^\$ACTION_\d+:0$/.test(name))?.[1];
    const named = Object.keys(fields).find((name) => name.startsWith("$ACTION_ID_"))?.slice("$ACTION_ID_".length);
    const actionId = named ?? /"id":"([0-9a-f]+)"/.exec(bound ?? "")?.[1];
    const own = Object.fromEntries(Object.entries(fields).filter(([name]) => !name.startsWith("$")));
    return actionId ? [{ actionId, fields: own }] : [];
  });
}

function filled(inside: string): Record<string, string> {
  const fields: Record<string, string> = {};
  const set = (name: string | null, value: string): void => {
    if (name !== null && name !== "" && !(name in fields)) fields[name] = value;
  };
  for (const [tag] of inside.matchAll(/<input\b[^>]*>/g)) {
    const [type, name, value] = [attribute(tag, "type") ?? "text", attribute(tag, "name"), attribute(tag, "value")];
    if (has(tag, "disabled")) continue;
    if (type === "radio" && has(tag, "checked") && name !== null) fields[name] = value ?? "on";
    else if (type === "radio" || type === "checkbox") set(name, value ?? "on");
    else set(name, value || fallback(type, tag));
  }
  for (const [tag, shown = ""] of [...inside.matchAll(/<textarea\b[^>]*>([^<]*)<\/textarea>/g)].map(([whole, text]) => [whole, text] as const)) set(attribute(tag, "name"), plain(shown) || "Words of the walk");
  for (const [tag, options = ""] of [...inside.matchAll(/<select\b[^>]*>([\s\S]*?)<\/select>/g)].map(([whole, text]) => [whole, text] as const)) {
    const values = [...options.matchAll(/<option\b[^>]*>/g)].map(([option]) => ({ value: attribute(option, "value") ?? "", isChosen: has(option, "selected") }));
    set(attribute(tag, "name"), (values.find(({ isChosen, value }) => isChosen && value !== "") ?? values.find(({ value }) => value !== ""))?.value ?? "");
  }
  for (const [tag] of inside.matchAll(/<button\b[^>]*>/g)) if (attribute(tag, "type") !== "button") set(attribute(tag, "name"), attribute(tag, "value") ?? "");
  return fields;
}

function fallback(type: string, tag: string): string {
  const soon = new Date(Date.now() + 20 * 86_400_000).toISOString();
  const made: Readonly<Record<string, string>> = { hidden: "", number: attribute(tag, "min") ?? "1", date: soon.slice(0, 10), time: "10:00", "datetime-local": soon.slice(0, 16), email: "walk@people.example", tel: "01632 960199", month: "2014-05" };
  return made[type] ?? "Words of the walk";
}

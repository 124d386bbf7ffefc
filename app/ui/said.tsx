/** A sentence in which one part may stand in another language; what cannot be found is left as it is. */
export function Said({ words, part, lang }: { readonly words: string; readonly part: string; readonly lang: string | undefined }) {
  const at = lang === undefined || part === "" ? -1 : words.indexOf(part);
  if (at < 0) return words;
  return <>{words.slice(0, at)}<span lang={lang}>{part}</span>{words.slice(at + part.length)}</>;
}

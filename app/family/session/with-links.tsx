/** Words of the practice, with each web address in them to press: nobody types one on a phone. Written in English. */
export function WithLinks({ text }: { readonly text: string }) {
  const parts = text.split(/(https:\/\/[^\s<>"]+[^\s<>".,;:!?)\]])/);
  return (
    <span lang="en">
      {parts.map((part, at) => (at % 2 === 1 && URL.canParse(part) ? <a key={`${at} ${part}`} href={part} rel="noreferrer noopener">{part}</a> : part))}
    </span>
  );
}

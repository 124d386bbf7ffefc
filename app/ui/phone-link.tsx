/** A number as somebody wrote it, called when pressed. */
export function PhoneLink({ number }: { readonly number: string }) {
  return <a href={`tel:${number.replaceAll(/[^+\d]/g, "")}`}>{number}</a>;
}

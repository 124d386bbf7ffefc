import styles from "@/app/ui/phone-link.module.css";

/** A number as somebody wrote it, called when pressed. */
export function PhoneLink({ number }: { readonly number: string }) {
  return <a className={styles.number} href={`tel:${number.replaceAll(/[^+\d]/g, "")}`}>{number}</a>;
}

import styles from "@/app/ui/chip.module.css";

/** One of several short choices side by side: a radio button whose words are what is pressed. */
export function Chip({ name, value, isChosen, required = false, children }: {
  readonly name: string;
  readonly value: string;
  readonly isChosen: boolean;
  readonly required?: boolean;
  readonly children: string;
}) {
  return (
    <label className={styles.chip}>
      <input type="radio" name={name} value={value} required={required} defaultChecked={isChosen} />
      <span>{children}</span>
    </label>
  );
}

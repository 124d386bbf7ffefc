import "server-only";

/** Why there is no backup, or nothing restored. */
export type Fault =
  | "key-unreadable" | "key-wrong" | "key-missing" | "practice-key" | "practice-key-inside"
  | "folder-inside" | "folder-foreign" | "folder-other-practice" | "disk-full" | "media-unreachable"
  | "database-damaged" | "no-backup" | "file-missing" | "file-damaged" | "erased-damaged" | "version-unknown" | "target-not-empty";

export class BackupFault extends Error {
  constructor(readonly fault: Fault) {
    super(`backup ${fault}`);
    this.name = "BackupFault";
  }
}

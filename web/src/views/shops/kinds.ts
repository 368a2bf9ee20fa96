/** Layouts in the trade's words. */
export const KINDS: Readonly<Record<string, string>> = {
  single: "single row",
  opposed_pair: "opposed pair",
  two_row: "two rows",
  three_row: "three rows",
  mixed_pair: "two parts on one strip",
};

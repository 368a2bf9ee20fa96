/** Places that become frozen rows of the orders. */
import type { PlacedCar } from "../../api/types";
import type { Sheet } from "../../sheet/sheet";

export interface Filled {
  row: string | null;
  cells: Record<string, string>;
}

/** The first cars in their places; whoever was frozen before and is not among them is free again. */
export function frozenRows(cars: readonly PlacedCar[], week: number, sheet: Sheet): Filled[] {
  const table = sheet.table("orders");
  const rows = new Map(table?.rows.map((row) => [sheet.value("orders", row.id, "order"), row.id]));
  const named = new Set(cars.map((car) => car.order));
  const ofWeek = (row: string): boolean => (sheet.value("orders", row, "week") || "1") === String(week);
  const freed = [...rows].filter(
    ([order, row]) => !named.has(order) && ofWeek(row) && sheet.value("orders", row, "frozen_place") !== "",
  );
  const free: Filled[] = freed.map(([, row]) => ({ row, cells: { frozen_place: "" } }));
  const nameOf = (place: number): string => {
    const name = `week ${week} place ${place}`;
    let [own, n] = [name, 1];
    while (rows.has(own)) own = `${name} (${(n += 1)})`;
    return own;
  };
  const kept = cars.map((car): Filled => {
    const row = car.order === null ? undefined : rows.get(car.order);
    const frozen_place = String(car.place);
    // A car that came back from hold is on hold no more.
    if (row !== undefined)
      return {
        row,
        cells: { frozen_place, ...(sheet.value("orders", row, "on_hold") === "" ? {} : { on_hold: "", back_day: "" }) },
      };
    return {
      row: null,
      cells: {
        order: nameOf(car.place),
        product: car.product,
        options: car.options.join(";"),
        colour: car.colour ?? "",
        frozen_place,
        ...(week === 1 ? {} : { week: String(week) }),
      },
    };
  });
  return [...free, ...kept];
}

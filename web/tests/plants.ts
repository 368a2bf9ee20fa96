/** A little plant that runs in a moment. Its figures are made up. */
import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";

export async function littlePlant(folder: string): Promise<string> {
  const book = join(folder, "little-quay");
  await mkdir(book, { recursive: true });
  const tables: Record<string, string> = {
    shifts: "shop,shift,days,start,end\nbody,early,mon-fri,06:00,14:00\ntrim,early,mon-fri,06:00,14:00\n",
    products: "product,cars_per_week\nDunlin,300\nCurlew,120\n",
    stations: [
      "station,shop,line,cycle_s,mtbf_min,mttr_min,source,rework_to",
      "B1 frame,body,body,300,,,yes,",
      "B2 rivet,body,body,310,240,6,,",
      "B3 finish,body,body,305,,,,",
      "T1 doors,trim,trim,320,,,,",
      "T2 seats,trim,trim,330,300,5,,",
      "T3 test,trim,trim,290,,,,",
      "",
    ].join("\n"),
    links: "from,to,holds\nB1 frame,B2 rivet,2\nB2 rivet,B3 finish,2\nB3 finish,T1 doors,8\nT1 doors,T2 seats,2\nT2 seats,T3 test,2\n",
  };
  for (const [name, text] of Object.entries(tables)) await writeFile(join(book, `${name}.csv`), text);
  return book;
}

/** A table that is long: stations no car passes would be errors, so it is the forecast. */
export function longForecast(rows: number): string {
  const lines = Array.from({ length: rows }, (_, i) => `${2027 + Math.floor(i / 12)}-${String((i % 12) + 1).padStart(2, "0")},${i % 2 ? "Dunlin" : "Curlew"},${200 + (i % 90)}`);
  return `period,product,cars_per_week\n${lines.join("\n")}\n`;
}

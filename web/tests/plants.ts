/** A little plant that runs in a moment. Its figures are made up. */
import { cp, mkdir, readFile, writeFile } from "node:fs/promises";
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
    links:
      "from,to,holds\nB1 frame,B2 rivet,2\nB2 rivet,B3 finish,2\nB3 finish,T1 doors,8\nT1 doors,T2 seats,2\nT2 seats,T3 test,2\n",
  };
  for (const [name, text] of Object.entries(tables)) await writeFile(join(book, `${name}.csv`), text);
  return book;
}

/** A table that is long: stations no car passes would be errors, so it is the forecast. */
export function longForecast(rows: number): string {
  const lines = Array.from(
    { length: rows },
    (_, i) =>
      `${2027 + Math.floor(i / 12)}-${String((i % 12) + 1).padStart(2, "0")},${i % 2 ? "Dunlin" : "Curlew"},${200 + (i % 90)}`,
  );
  return `period,product,cars_per_week\n${lines.join("\n")}\n`;
}

/** The demo plant with what its own figures never show: two parts on one strip, a line that lacks time, a part too strong for its line. */
export async function strainedPlant(demo: string, folder: string): Promise<string> {
  const book = join(folder, "strained-quay");
  await cp(demo, book, { recursive: true });
  const change = async (
    table: string,
    cells: Record<string, Record<string, string>>,
    more: string[] = [],
  ): Promise<void> => {
    const file = join(book, `${table}.csv`);
    const [head = "", ...rows] = (await readFile(file, "utf8")).trimEnd().split("\n");
    const columns = head.split(",");
    const changed = rows.map((row) => {
      const texts = row.split(",");
      for (const [column, text] of Object.entries(cells[texts[0] ?? ""] ?? {})) texts[columns.indexOf(column)] = text;
      return texts.join(",");
    });
    await writeFile(file, [head, ...changed, ...more, ""].join("\n"));
  };
  const outline = (name: string, points: [number, number][]): string[] =>
    points.map(([x, y], i) => `${name},0,${i + 1},${x},${y},`);
  await change("press_lines", { "press line 2": { change_min: "60" }, "press line 3": { force_kn: "2500" } });
  // A channel, and a plate that fits between its legs.
  await change("outlines", {}, [
    ...outline("channel", [
      [0, 0],
      [700, 0],
      [700, 520],
      [520, 520],
      [520, 100],
      [200, 100],
      [200, 520],
      [0, 520],
    ]),
    ...outline("plate", [
      [0, 0],
      [300, 0],
      [300, 400],
      [0, 400],
    ]),
  ]);
  await change("parts", {
    "front rail left": { outline: "channel" },
    "front rail right": { outline: "plate", mirrored: "" },
  });
  return book;
}

/** The little plant with prices, an idea and a forecast; `forecast` may have a gap. */
export async function pricedPlant(folder: string, forecast = ["2031 Q1", "2031 Q2", "2031 Q3"]): Promise<string> {
  const book = await littlePlant(folder);
  const tables: Record<string, string> = {
    plant: "setting,value\noverhead_per_year,900000\nlearning_model,unit\nlearning_rate,0.75\nfirst_car_hours,20\n",
    products: "product,cars_per_week,price\nDunlin,300,21000\nCurlew,120,24500\n",
    parts: "part,source,price,per_car,to\nwheel,bought,90,4,T2 seats\nseat,bought,,2,T2 seats\n",
    offers: "line,price,min_order,lead_time_days\nbody,55,200,7\n",
    ideas:
      "idea,table,row,column,to,investment,cost_per_year,weeks\ntwo trim places,stations,T2 seats,units,2,90000,30000,20\nthree trim places,stations,T2 seats,units,3,160000,60000,26\nall stations quicker,stations,T1 doors,cycle_s,250,20000,0,8\n",
    forecast: `period,product,cars_per_week\n${forecast.flatMap((period, i) => [`${period},Dunlin,${300 + i * 10}`, `${period},Curlew,${120 + i * 5}`]).join("\n")}\n`,
  };
  for (const [name, text] of Object.entries(tables)) await writeFile(join(book, `${name}.csv`), text);
  const file = join(book, "stations.csv");
  const rows = (await readFile(file, "utf8")).trimEnd().split("\n");
  await writeFile(
    file,
    `${rows.map((row, i) => `${row},${i === 0 ? "heads,investment,energy_kw,upkeep_per_year" : "2,120000,6,4000"}`).join("\n")}\n`,
  );
  return book;
}

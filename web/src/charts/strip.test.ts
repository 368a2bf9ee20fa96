import { describe, expect, it } from "vitest";
import { arc, blanks, box, drawn, lengthOf, middle, pathsOf, placed, type Path } from "./strip";

const still = { x_mm: 0, y_mm: 0, rot_deg: 0, mirrored: false };
// two half circles on a diameter of 2: a bulge of 1 is half a turn
const disc: Path = [
  [-1, 0, 1],
  [1, 0, 1],
];
const square: Path = [
  [0, 0, 0],
  [10, 0, 0],
  [10, 10, 0],
  [0, 10, 0],
];

describe("a blank's outline", () => {
  it("goes round by its bulge: half a turn about the middle of the chord", () => {
    const half = arc([-1, 0, 1], [1, 0, 0]);
    expect(half?.radius).toBeCloseTo(1);
    expect(half?.x).toBeCloseTo(0);
    expect(half?.y).toBeCloseTo(0);
    expect(half?.sweep).toBeCloseTo(Math.PI);
  });

  it("rounds a corner: a quarter turn has the bulge tan 22.5°", () => {
    const quarter = arc([1, 0, Math.tan(Math.PI / 8)], [0, 1, 0]);
    expect(quarter?.radius).toBeCloseTo(1);
    expect(Math.hypot(quarter?.x ?? 1, quarter?.y ?? 1)).toBeCloseTo(0);
  });

  it("comes from the server with a bulge or without", () => {
    expect(
      pathsOf([
        [
          [1, 2, 0.5],
          [3, 4],
        ],
      ]),
    ).toEqual([
      [
        [1, 2, 0.5],
        [3, 4, 0],
      ],
    ]);
  });

  it("has its number on its own metal: beside a gap that another blank fills, and beside a hole", () => {
    const channel: Path = [
      [0, 0, 0],
      [70, 0, 0],
      [70, 52, 0],
      [52, 52, 0],
      [52, 10, 0],
      [20, 10, 0],
      [20, 52, 0],
      [0, 52, 0],
    ];
    const [x, y] = middle([channel], box(channel));
    expect(y < 10 || x < 20 || x > 52).toBe(true);
    const hole: Path = [
      [3, 3, 0],
      [7, 3, 0],
      [7, 7, 0],
      [3, 7, 0],
    ];
    const [hx, hy] = middle([square, hole], box(square));
    expect(hx > 3 && hx < 7 && hy > 3 && hy < 7).toBe(false);
    expect(middle([square], box(square))).toEqual([5, 5]);
    const [dx, dy] = middle([disc], box(disc));
    expect(Math.hypot(dx, dy)).toBeCloseTo(0);
  });

  it("is straight without a bulge", () => {
    expect(arc([0, 0, 0], [1, 0, 0])).toBeNull();
  });

  it("reaches as far as its arcs do, not only its points", () => {
    const reach = box(disc);
    expect([reach.left, reach.right, reach.low, reach.high].map((value) => Math.round(value * 1e9) / 1e9)).toEqual([
      -1, 1, -1, 1,
    ]);
    expect(
      box([
        [0, 0, -1],
        [2, 0, 0],
      ]).high,
    ).toBeCloseTo(1);
    expect(
      box([
        [0, 0, 1],
        [2, 0, 0],
      ]).low,
    ).toBeCloseTo(-1);
  });

  it("keeps its size when it is turned and turned over, and its arcs bend the other way", () => {
    const turned = placed(
      [
        [0, 0, 0.4],
        [3, 0, 0],
        [3, 1, 0],
      ],
      { x_mm: 5, y_mm: 7, rot_deg: 90, mirrored: true },
    );
    expect(turned[0]).toEqual([5, 7, -0.4]);
    expect(turned[1]?.[0]).toBeCloseTo(5);
    expect(turned[1]?.[1]).toBeCloseTo(10);
    expect(turned[2]?.[0]).toBeCloseTo(6);
    expect(box(placed(disc, { ...still, rot_deg: 33 })).high).toBeCloseTo(1);
  });

  it("is drawn with y down: what turns left in the plan turns left on the page", () => {
    expect(
      drawn(
        [
          [0, 0, 1],
          [2, 0, 0],
        ],
        (x, y) => [x, 100 - y],
        1,
      ),
    ).toBe("M0.00 100.00A1.00 1.00 0 0 0 2.00 100.00L0.00 100.00Z");
    expect(drawn([], (x, y) => [x, y], 1)).toBe("");
  });
});

describe("blanks on a strip", () => {
  it("repeat with every pitch over the length shown, cut blanks at both ends included", () => {
    const all = blanks([{ ...still, part: 0, x_mm: 2 }], [[square]], 12, 40);
    expect(all.map((blank) => blank.box.left)).toEqual([2, 14, 26, 38]);
    const early = blanks([{ ...still, part: 0, x_mm: 6 }], [[square]], 12, 40);
    expect(early.map((blank) => blank.repeat)).toEqual([-1, 0, 1, 2]);
  });

  it("show the first pitch whole, though its last blank reaches into the next", () => {
    expect(lengthOf([{ ...still, part: 0, x_mm: 6 }], [[square]], 12)).toBe(19);
    expect(lengthOf([], [], 12)).toBe(15);
  });

  it("leave out a part whose outline is not known", () => {
    expect(blanks([{ ...still, part: 1 }], [[square], null], 12, 40)).toEqual([]);
  });
});

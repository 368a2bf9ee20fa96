import { accessible, ok, same, test } from "./harness";
import { view } from "./steps";

const LONG = { timeout: 200_000 };

test("the body shop shows every method with its reason, robots against takt, a station in time, consumables, and what a robot less does", async ({
  serve,
  open,
  demo,
}) => {
  const server = await serve(demo);
  const page = await open(view(server, "shops/body?show=methods&line=framing"));
  const matrix = page.locator("section[aria-labelledby=methods]");
  await matrix.locator("tbody tr").first().waitFor(LONG);
  ok((await matrix.locator("td", { hasText: "no: " }).count()) > 10, "refused methods say why");
  ok((await page.locator(".caution", { hasText: "40 to 80 kN" }).count()) > 0, "the caution is shown");
  await matrix.locator("tbody th a").first().click();
  const group = page.locator("section[aria-labelledby=join]");
  await group.locator("tbody tr").first().waitFor();
  same(await group.locator("tbody tr").count(), 5, "five methods");
  await accessible(page, "methods of a group");
  await group.locator("a.figure").first().click();
  await page.locator("section.working", { hasText: "Source:" }).waitFor();
  await page.goto(view(server, "shops/body?show=joining&line=framing&station=FR-02%20framing%20gate"));
  await page.locator("section[aria-labelledby=joining] svg[role=group]").waitFor(LONG);
  const label = await page.locator("section[aria-labelledby=station] svg[role=img]").first().getAttribute("aria-label");
  ok(/joints of .* in gate left front, \d+ to \d+ s/.test(label ?? ""), `the chart is told in words: ${label}`);
  await accessible(page, "joining robots");
  await page.goto(view(server, "shops/body?show=consumables"));
  await page.locator("tbody th", { hasText: "rivets" }).first().waitFor(LONG);
  await accessible(page, "consumables");
  await page.goto(view(server, "shops/body?show=takt"));
  await page.locator("section[aria-labelledby=takt] tbody tr", { hasText: "as planned" }).waitFor(LONG);
  await accessible(page, "takt and robots");
  const file = await fetch(`${server.url}/api/revisions/2/shops/body.xlsx`);
  same(file.status, 200, "the workbook");
});

"use strict";
{
  const box = document.querySelector("[role=search]");
  const field = document.getElementById("find");
  const found = document.getElementById("found");
  const entries = [...document.querySelectorAll(".entries li, .family .worked")];
  const families = [...document.querySelectorAll("section.family")];
  const text = new Map(entries.map((entry) => {
    // A rule of the house's own stands here whole and has no page.
    const link = entry.querySelector("a")?.getAttribute("href");
    return [entry, `${PAGES[link] ?? ""} ${entry.textContent.toLowerCase()}`];
  }));

  const search = () => {
    const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    for (const entry of entries) {
      const fits = words.every((word) => text.get(entry).includes(word));
      entry.hidden = !fits;
      count += fits ? 1 : 0;
    }
    for (const family of families) {
      family.hidden = !family.querySelector(":is(.entries li, .worked):not([hidden])");
    }
    const rules = count === 1 ? "1 rule" : `${count} rules`;
    found.textContent = words.length === 0 ? "" : count === 0 ? "No page holds all of these words." : rules;
  };

  box.hidden = false;
  field.addEventListener("input", search);
  // Coming back to the page, a browser puts the words in again.
  window.addEventListener("pageshow", search);
}

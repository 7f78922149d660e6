// What the device keeps: records by the map's code, or the place in the page's address where it keeps nothing.

const PREFIX = "chartmaker loom ";
/** Tells this tab from others that have the same page open. */
export const tab = Math.random().toString(36).slice(2, 10);
/** Where the place is kept: "device", or "address". */
export const keeping = { where: "device" };

function box() {
  try {
    return window.localStorage;
  } catch (fault) {
    return null; // denied
  }
}

function parsed(text) {
  try {
    return JSON.parse(text);
  } catch (fault) {
    return null; // not ours, or cut short
  }
}

/** The record of a map; null where there is none, or none can be read. */
export function recordOf(map) {
  try {
    const text = box().getItem(PREFIX + map);
    return text ? parsed(text) : null;
  } catch (fault) {
    return null;
  }
}

/** The records of all maps but one. */
export function otherRecords(map) {
  const found = [];
  try {
    const store = box();
    for (let number = 0; number < store.length; number++) {
      const key = store.key(number);
      if (!key.startsWith(PREFIX) || key === PREFIX + map) continue;
      const record = parsed(store.getItem(key));
      if (record) found.push(record);
    }
  } catch (fault) {
    return found;
  }
  return found;
}

/** Keep a record, and say whether the device did: it may be full, or forbid it. */
export function keep(map, record) {
  try {
    const text = JSON.stringify(record);
    box().setItem(PREFIX + map, text);
    keeping.where = box().getItem(PREFIX + map) === text ? "device" : "address";
  } catch (fault) {
    keeping.where = "address";
  }
  return keeping.where === "device";
}

/** Call `changed` with the record that another tab has just kept. */
export function onOtherTab(map, changed) {
  window.addEventListener("storage", (event) => {
    if (event.key === PREFIX + map && event.newValue) changed(parsed(event.newValue));
  });
}

/** Put a short code behind the page's address, where a reload and a bookmark keep it. */
export function keepInAddress(code) {
  try {
    history.replaceState(null, "", `#${code}`);
  } catch (fault) {
    location.replace(`#${code}`);
  }
}

export const codeInAddress = () => decodeURIComponent(location.hash.slice(1));

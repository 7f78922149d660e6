// Small files that the page hands out and takes in; nothing of them leaves the device.

/** Save a text as a file. */
export function saveFile(name, type, text) {
  const address = URL.createObjectURL(new Blob([text], { type }));
  const link = Object.assign(document.createElement("a"), { href: address, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
}

/** Read the file that was chosen as text; it is small, or it is not ours. */
export function readFile(file, most, use) {
  if (file.size > most) {
    use("");
    return;
  }
  const reader = new FileReader();
  reader.onload = () => use(String(reader.result));
  reader.onerror = () => use("");
  reader.readAsText(file);
}

// Drops the copies of marks kept on this device for photos whose inspection is now recorded.
import { dropCopy } from "./store.js";

export default function forget({ data }) {
  for (const photoId of data.photo_ids) dropCopy(photoId);
}

export function Seats() {
  return <div class="desk" />;
}

"""Reads a sound with the reader of Python's own library and compares it with the table of voltages.

usage: read_wav.py SOUND.wav VOLTAGE.csv FULL_SCALE_MV
"""

import csv
import struct
import sys
import wave

sound, table, full_scale = sys.argv[1], sys.argv[2], float(sys.argv[3])
with wave.open(sound) as reader:
    assert reader.getnchannels() == 1, reader.getparams()
    assert reader.getsampwidth() == 2, reader.getparams()
    rate, count = reader.getframerate(), reader.getnframes()
    samples = struct.unpack(f"<{count}h", reader.readframes(count))
with open(table, newline="") as rows:
    voltages = [(float(r["time_ms"]), float(r["voltage_mV"])) for r in csv.DictReader(rows)]
assert len(voltages) == count, (len(voltages), count)
assert max(abs(v) for _, v in voltages) > 0.1 * full_scale, "a sound that can hardly be told from none"
for i, (sample, (time, voltage)) in enumerate(zip(samples, voltages)):
    # Times are written to a nanosecond.
    assert abs(time - 1e3 * i / rate) < 1e-6, (i, time)
    # Half a step of rounding, and the table's seven digits.
    step = full_scale / 32767
    assert abs(sample * step - voltage) < 0.5001 * step + 1e-6 * abs(voltage), (i, sample, voltage)
print(f"{count} samples at {rate} Hz agree")

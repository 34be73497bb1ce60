"""Inputs that reach new code, packed: each with its length in two octets before it. `seeds.py pack|unpack TARGET`.

pack takes the smallest of corpus/TARGET, as `TARGET -merge=1` leaves them, up to MOST octets into seeds/TARGET.bin; unpack writes them back.
"""

import glob
import hashlib
import os
import sys

MOST = 150_000


def pack(target, packed):
    inputs = sorted((open(name, "rb").read() for name in glob.glob(f"corpus/{target}/*")), key=lambda one: (len(one), one))
    size, out = 0, []
    for one in inputs:
        size += 2 + len(one)
        if size > MOST or len(one) > 0xFFFF:
            break
        out.append(len(one).to_bytes(2, "big") + one)
    os.makedirs("seeds", exist_ok=True)
    with open(packed, "wb") as file:
        file.write(b"".join(out))
    print(f"{packed}: {len(out)} of {len(inputs)} inputs")


def unpack(target, packed):
    os.makedirs(f"corpus/{target}", exist_ok=True)
    if not os.path.exists(packed):
        return
    rest = open(packed, "rb").read()
    while rest:
        length = int.from_bytes(rest[:2], "big")
        one, rest = rest[2 : 2 + length], rest[2 + length :]
        with open(f"corpus/{target}/{hashlib.sha1(one).hexdigest()}", "wb") as file:
            file.write(one)


if __name__ == "__main__":
    os.chdir(os.path.dirname(os.path.abspath(__file__)))
    {"pack": pack, "unpack": unpack}[sys.argv[1]](sys.argv[2], f"seeds/{sys.argv[2]}.bin")

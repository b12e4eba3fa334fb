"""The checks of a campaign's store of all rows, made anew from these alone, by what tools/campaign/trial_checks.hpp and
tools/store/running_check.hpp say of them and nothing else.

CRC-64/XZ: polynomial 0x42F0E1EBA9EA3693 (ECMA-182), reflected, all ones before and after; its check value from the
catalogue of parametrised CRC algorithms is held below.
"""

import sqlite3
import struct

BLOCK = 65536
ONES = (1 << 64) - 1
REFLECTED = int(f"{0x42F0E1EBA9EA3693:064b}"[::-1], 2)
TABLE = []
for byte in range(256):
    value = byte
    for _ in range(8):
        value = value >> 1 ^ (REFLECTED if value & 1 else 0)
    TABLE.append(value)


def crc(data: bytes) -> int:
    value = ONES
    for byte in data:
        value = value >> 8 ^ TABLE[(value ^ byte) & 0xFF]
    return value ^ ONES


assert crc(b"123456789") == 0x995DC9BBDF1939FA


def number(value: int) -> bytes:
    return struct.pack("<Q", value & ONES)


def text(value: object) -> bytes:
    data = str(value).encode()
    return number(len(data)) + data


def columns(row: tuple) -> bytes:
    there = sum(1 << place for place, value in enumerate(row) if value is not None)
    return b"".join(number(value or 0) for value in row) + number(there)


def signed(value: int) -> int:
    return value - (1 << 64) if value >> 63 else value


def mixed(value: int, more: int) -> int:
    value = (value ^ more) * 0x9E3779B97F4A7C15 & ONES
    return value ^ value >> 29


def scrambled(value: int) -> int:
    """The finaliser of SplitMix64 (Steele, Lea, Flood, OOPSLA 2014)."""
    value = (value ^ value >> 30) * 0xBF58476D1CE4E5B9 & ONES
    value = (value ^ value >> 27) * 0x94D049BB133111EB & ONES
    return value ^ value >> 31


def fingerprint(row: tuple) -> int:
    """Of a trial, as sim/drive/campaign_summary.cpp mixes it."""
    trial, fault, way, outcome, _, _, in_time, started, detected_by, _ = row[:10]
    detect, safe_state, standstill, allowed = row[10:14]
    trace, met, not_met, not_shown, reduced, stands = row[17:23]
    value = mixed(mixed(0, trial), trace & ONES)
    value = mixed(value, fault << 32 | way << 16 | outcome << 8 | (0 if detected_by is None else 1 + detected_by))
    value = mixed(value, in_time << 1 | started)
    for time in (detect, safe_state, standstill, allowed, reduced, stands):
        value = mixed(value, ONES if time is None else time & ONES)
    for functions in (met, not_met, not_shown):
        value = mixed(value, functions & ONES)
    return scrambled(value)


def blocks_of(store: sqlite3.Connection) -> list[tuple]:
    """The rows of the table of blocks, as they should be."""
    rows: dict[int, list[bytes]] = {}
    sums: dict[int, int] = {}
    for row in store.execute("SELECT * FROM trial ORDER BY trial"):
        rows.setdefault(row[0] // BLOCK, []).append(columns(row))
        sums[row[0] // BLOCK] = sums.get(row[0] // BLOCK, 0) + fingerprint(row) & ONES
    dangerous: dict[int, list[bytes]] = {}
    for trial, fault, why in store.execute("SELECT trial, fault, why FROM dangerous ORDER BY trial"):
        dangerous.setdefault(trial // BLOCK, []).append(number(trial) + number(fault) + text(why))
    return [
        (block, len(kept), len(listed), signed(sums[block]), signed(crc(b"".join(kept))), signed(crc(b"".join(listed))))
        for block, kept in sorted(rows.items())
        for listed in [dangerous.get(block, [])]
    ]


def whole_of(store: sqlite3.Connection, blocks: list[tuple]) -> tuple[int, int, int, int, int]:
    """kept, dangerous, blocks_check, tables_check and whole_check of the campaign's row, as they should be."""
    tables = b""
    for query in (
        "SELECT type, name, tbl_name, sql FROM sqlite_master ORDER BY rowid",
        "SELECT number, name, error, '' FROM way_name ORDER BY number",
        "SELECT number, name, '', '' FROM outcome_name ORDER BY number",
        "SELECT number, name, '', '' FROM measure_name ORDER BY number",
    ):
        for row in store.execute(query):
            tables += b"".join(text(value) for value in row)
    kept, dangerous = sum(block[1] for block in blocks), sum(block[2] for block in blocks)
    all_blocks = crc(b"".join(number(value) for block in blocks for value in block))
    key = store.execute("SELECT made_by, scenario, contents, seed, model, keep, trials, shard, shards FROM campaign").fetchone()
    said = b"".join(text(value) for value in key[:3]) + b"".join(number(int(value)) for value in key[3:])
    said += b"".join(number(value) for value in (kept, dangerous, all_blocks, crc(b""), crc(tables)))
    return kept, dangerous, signed(all_blocks), signed(crc(tables)), signed(crc(said))


def holds(path: str) -> bool:
    """Everything that the store says of itself is what its rows come to."""
    store = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    blocks = blocks_of(store)
    told = store.execute("SELECT kept, dangerous, blocks_check, tables_check, whole_check FROM campaign").fetchone()
    listed = store.execute("SELECT * FROM block ORDER BY number").fetchall()
    return blocks == listed and whole_of(store, blocks) == told


def alter(path: str, *statements: str) -> None:
    """Runs the statements on a store, and nothing else."""
    store = sqlite3.connect(path)
    for statement in statements:
        store.execute(statement)
    store.commit()
    store.close()


def alter_and_seal(path: str, *statements: str) -> None:
    """The same, with all checks made anew: a store as another program, or somebody on purpose, would leave it."""
    alter(path, *statements)
    store = sqlite3.connect(path)
    blocks = blocks_of(store)
    store.execute("DELETE FROM block")
    store.executemany("INSERT INTO block VALUES (?,?,?,?,?,?)", blocks)
    store.execute(
        "UPDATE campaign SET kept = ?, dangerous = ?, blocks_check = ?, tables_check = ?, whole_check = ?",
        whole_of(store, blocks),
    )
    store.commit()
    store.close()

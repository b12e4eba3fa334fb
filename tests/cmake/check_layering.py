"""Who may include what: dependencies go tools -> sim -> proto, and a library is included only where it belongs.

Whatever is in none of these lists is an error. To let in a new library, add a line to LIBRARIES.
"""

import re
from fnmatch import fnmatch

from sources import code_only, cpp_files, finish, source_root

# Layer: what of this repository it may include.
LAYERS = {"proto": ("proto/",), "sim": ("proto/", "sim/"), "tools": ("proto/", "sim/", "tools/")}

# How an include begins: the files that may hold it, and in how many of them (None: any number). Heavy headers go
# into one translation unit each, whatever its name.
LIBRARIES = {
    "toml++/": (["sim/reading/read_*.cpp"], None),
    "asio": (["sim/live/*.cpp"], 3),
    "CLI/": (["tools/*.cpp"], 1),
    "nlohmann/": (["tools/*.cpp"], 1),
    "pcap/": (["sim/reading/read_packets.cpp"], 1),
    "sqlite3.h": (["tools/*.cpp"], 1),
    "boost/": (["tools/web/connection.hpp", "tools/web/*.cpp"], 3),
    "spdlog/": (["tools/*.cpp"], None),
    "fmt/": (["tools/*.cpp"], None),
}

# Headers of the system (not of the standard library) and who may include them.
SYSTEM = {
    "sys/": ["tools/*.cpp", "sim/live/*.cpp"],
    "arpa/inet.h": ["tools/*.cpp"],
    "netinet/in.h": ["tools/*.cpp"],
    "unistd.h": ["tools/*.cpp", "sim/live/*.cpp"],
    "fcntl.h": ["tools/*.cpp", "sim/live/*.cpp"],
    "spawn.h": ["tools/*.cpp"],
    "dirent.h": ["tools/desk/whole_file.cpp"],
    "linux/openat2.h": ["tools/desk/folder_beneath.cpp"],
    "pthread.h": ["sim/live/*.cpp"],
    "linux/sockios.h": ["sim/live/*.cpp"],
    "sched.h": ["sim/live/*.cpp", "tools/program/processors.cpp"],
    "arpa/": ["tools/*.cpp"],
    "netinet/": ["tools/*.cpp"],
    "csignal": ["tools/*.cpp"],
    "signal.h": ["tools/*.cpp"],
}

# Standard headers that a layer must do without: clocks, threads, files, standard streams, random numbers.
FORBIDDEN_HEADERS = {
    "proto": "chrono ctime thread mutex shared_mutex condition_variable future semaphore latch barrier stop_token "
    "random iostream istream ostream fstream sstream iomanip iosfwd streambuf syncstream filesystem locale regex "
    "coroutine exception stdexcept typeinfo",
    "sim": "random iostream ctime syncstream",
}

LIBM = r"\bstd::(exp|exp2|expm1|log|log2|log10|log1p|pow|cbrt|hypot|a?(sin|cos|tan)h?|erfc?|[lt]gamma)[fl]?\s*\("

# Words in the code (not in comments or strings) that a layer must do without, and the files that may have them.
FORBIDDEN_WORDS = [
    ("proto", r"\b(steady_clock|system_clock|clock_gettime|gettimeofday|time\s*\(\s*(nullptr|NULL|0)\s*\))", []),
    ("sim", r"\b(steady_clock|system_clock|clock_gettime|gettimeofday)\b", ["sim/live/*.cpp", "sim/live/*.hpp"]),
    ("proto", r"\b(throw|try|catch|dynamic_cast|typeid|thread_local|malloc|calloc|realloc)\b", ["proto/contract.cpp"]),
    ("proto", r"\b(stdout|stderr|printf|fprintf|puts|fputs|putchar)\b", ["proto/contract.cpp"]),
    ("sim", r"\b(stdout|stderr|printf|puts|putchar|cout|cerr|clog)\b", []),
    ("sim", r"\b(s?rand|random_device)\s*[({]", []),
    # Other bits on another machine: sim/numeric/portable_math has these, and scaled_real a wider type.
    *[(layer, LIBM, []) for layer in ("proto", "sim", "tools")],
    *[(layer, r"\blong double\b", []) for layer in ("proto", "sim", "tools")],
]

STANDARD = set(
    "algorithm any array atomic barrier bit bitset cassert cctype cerrno cfenv cfloat charconv chrono cinttypes "
    "climits clocale cmath codecvt compare complex concepts condition_variable coroutine csetjmp cstdarg cstddef "
    "cstdint cstdio cstdlib cstring ctime cuchar cwchar cwctype deque exception execution filesystem format "
    "forward_list fstream functional future initializer_list iomanip ios iosfwd iostream istream iterator latch "
    "limits list locale map memory memory_resource mutex new numbers numeric optional ostream queue random ranges "
    "ratio regex scoped_allocator semaphore set shared_mutex source_location span sstream stack stdexcept stop_token "
    "streambuf string string_view syncstream system_error thread tuple type_traits typeindex typeinfo "
    "unordered_map unordered_set utility valarray variant vector version".split()
)

# Compiler's own headers for kernels that choose their instructions at run time.
INTRINSICS = {"immintrin.h", "wmmintrin.h", "x86intrin.h", "cpuid.h"}


def matches(name: str, patterns: list[str]) -> bool:
    return any(fnmatch(name, pattern) for pattern in patterns)


def check_include(layer: str, name: str, header: str, quoted: bool, users: dict[str, list[str]]) -> str | None:
    """What is wrong with this include, or None. Notes in `users` which file includes which library."""
    if quoted:
        if not header.startswith(LAYERS[layer]):
            return f'{layer} may include only {", ".join(LAYERS[layer])} of this repository, by its path from the root'
        return None
    if header in FORBIDDEN_HEADERS.get(layer, "").split():
        return f"{layer} must do without <{header}>"
    for prefix, patterns in SYSTEM.items():
        if header.startswith(prefix):
            return None if matches(name, patterns) else f"<{header}> belongs to {' '.join(patterns)}"
    if header in STANDARD or (header in INTRINSICS and name.endswith(".cpp")):
        return None
    for prefix, (patterns, _) in LIBRARIES.items():
        if header.startswith(prefix):
            users[prefix].append(name)
            return None if matches(name, patterns) else f"<{header}> belongs to {' '.join(patterns)}"
    return f"<{header}> is in none of the lists of tests/cmake/check_layering.py"


def main() -> None:
    root = source_root()
    problems: list[str] = []
    users: dict[str, list[str]] = {prefix: [] for prefix in LIBRARIES}
    checked = 0
    for layer in LAYERS:
        for path in cpp_files(root / layer):
            checked += 1
            name = path.relative_to(root).as_posix()
            for number, line in enumerate(code_only(path.read_text()).splitlines(), 1):
                if found := re.match(r'\s*#\s*include\s*([<"])([^>"]+)[>"]', line):
                    if wrong := check_include(layer, name, found[2], found[1] == '"', users):
                        problems.append(f"{name}:{number}: {wrong}")
                    continue
                for of_layer, pattern, allowed in FORBIDDEN_WORDS:
                    word = re.search(pattern, line) if of_layer == layer and not matches(name, allowed) else None
                    if word:
                        problems.append(f"{name}:{number}: {layer} must do without '{word[0].strip()}'")
    for prefix, (_, most) in LIBRARIES.items():
        files = sorted(set(users[prefix]))
        if most is not None and len(files) > most:
            problems.append(f"<{prefix}...> is included by more than {most} file: {', '.join(files)}")
    finish(problems, checked, "files")


main()

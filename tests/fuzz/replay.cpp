// Runs a fuzz target over files, and over all files of folders: the main() of a target where libFuzzer has none.
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "tests/fuzz/fuzz.hpp"

namespace {

namespace fs = std::filesystem;

std::vector<fs::path> files_of(const fs::path& path) {
    if (!fs::is_directory(path)) return {path};
    std::vector<fs::path> files;
    for (const fs::directory_entry& entry : fs::recursive_directory_iterator(path))
        if (entry.is_regular_file()) files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    return files;
}

}  // namespace

int main(int count, char** arguments) {
    std::size_t runs = 0;
    for (int i = 1; i < count; ++i)
        for (const fs::path& path : files_of(arguments[i])) {
            std::ifstream file(path, std::ios::binary);
            if (!file) {
                std::fprintf(stderr, "replay: %s cannot be opened\n", path.c_str());
                return 1;
            }
            // on the heap and as long as it is, so that a sanitizer sees a byte read past its end
            const std::vector<char> bytes{std::istreambuf_iterator<char>(file), {}};
            std::fprintf(stderr, "%s\n", path.c_str());  // before it runs: what crashes is named last
            LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
            ++runs;
        }
    std::printf("replayed %zu inputs\n", runs);
    if (fuzz::tells_taken && fuzz::taken == 0) {
        std::fprintf(stderr, "replay: every input was refused; make the corpus anew, its format has changed\n");
        return 1;
    }
    return runs > 0 ? 0 : 1;
}

// make_sounds DIRECTORY: writes every sound and the manifest. The files in sounds/ are its work; a test compares them.
#include <cstdio>
#include <fstream>
#include <string>

#include "sounds/recipes.hpp"

namespace {

bool write(const std::string& path, const std::string& bytes) {
    std::ofstream file(path, std::ios::binary);
    file << bytes;
    file.close();
    if (file) return true;
    std::fprintf(stderr, "%s can't be written; is the directory there, and the disk not full?\n", path.c_str());
    return false;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc != 2) {
        std::fprintf(stderr, "usage: make_sounds DIRECTORY\n");
        return 2;
    }
    const std::string directory = argv[1];
    for (const breakstep::sounds::Recipe& recipe : breakstep::sounds::recipes()) {
        const std::string bytes = breakstep::sounds::wav_file(breakstep::sounds::samples_of(recipe));
        if (!write(directory + "/" + std::string(recipe.file), bytes)) return 1;
    }
    return write(directory + "/manifest.toml", breakstep::sounds::manifest()) ? 0 : 1;
}

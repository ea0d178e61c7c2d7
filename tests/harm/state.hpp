// What a file holds, as one text that two equal contents share: for telling old from new and from neither.
#pragma once

#include <filesystem>
#include <string>

namespace breakstep::harm {

/// A store's content, the notes of its backups aside: "absent", "unreadable: WHY" for one that can't be read whole.
[[nodiscard]] std::string content_of_store(const std::filesystem::path& path);
/// "absent", or the bytes.
[[nodiscard]] std::string content_of_file(const std::filesystem::path& path);

/// A new folder below /tmp that goes with the object.
class Folder {
  public:
    Folder();
    ~Folder();
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    [[nodiscard]] const std::filesystem::path& path() const { return path_; }

  private:
    std::filesystem::path path_;
};

/// Runs a command line in the folder, HOME there; gives the exit code, and what it said in `said`.
int run_in(const std::filesystem::path& folder, const std::string& arguments, std::string& said);

}  // namespace breakstep::harm

#include "desk/web/certificate.hpp"

#include <openssl/bio.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/rand.h>
#include <openssl/x509v3.h>

#include <array>
#include <cstdint>
#include <memory>

#include "files/new_file.hpp"
#include "files/reading.hpp"

namespace breakstep::desk {
namespace {

template <auto free>
struct Free {
    template <class T>
    void operator()(T* what) const {
        free(what);
    }
};
using Key = std::unique_ptr<EVP_PKEY, Free<EVP_PKEY_free>>;
using X509Pointer = std::unique_ptr<X509, Free<X509_free>>;
using Memory = std::unique_ptr<BIO, Free<BIO_free>>;
using Extension = std::unique_ptr<X509_EXTENSION, Free<X509_EXTENSION_free>>;

constexpr long seconds_a_day = 86'400;
constexpr std::size_t longest_file = 16 * 1024;

tl::unexpected<Error> openssl_failed(const char* what) {
    return failure(ErrorKind::system, std::string("OpenSSL could not make ") + what,
                   "run `openssl version`; without it the desk stays on this computer (leave --hall away)");
}

std::string text_of(BIO& memory) {
    char* data = nullptr;
    const long size = BIO_get_mem_data(&memory, &data);
    return size > 0 ? std::string(data, static_cast<std::size_t>(size)) : std::string();
}

std::string fingerprint(const X509& certificate) {
    std::array<unsigned char, EVP_MAX_MD_SIZE> bytes{};
    unsigned int size = 0;
    if (X509_digest(&certificate, EVP_sha256(), bytes.data(), &size) != 1) return "";
    constexpr const char* digits = "0123456789ABCDEF";
    std::string text;
    for (unsigned int i = 0; i < size; ++i) {
        if (i > 0) text += ':';
        text += digits[bytes[i] >> 4U];
        text += digits[bytes[i] & 0xFU];
    }
    return text;
}

bool add_extension(X509& certificate, int which, const std::string& value) {
    X509V3_CTX context;
    X509V3_set_ctx_nodb(&context);
    X509V3_set_ctx(&context, &certificate, &certificate, nullptr, nullptr, 0);
    const Extension extension(X509V3_EXT_conf_nid(nullptr, &context, which, value.c_str()));
    return extension && X509_add_ext(&certificate, extension.get(), -1) == 1;
}

bool fill(X509& certificate, EVP_PKEY& key, const std::vector<std::string>& addresses, int days) {
    std::uint64_t serial = 0;
    if (RAND_bytes(reinterpret_cast<unsigned char*>(&serial), sizeof serial) != 1) return false;
    std::string names = "DNS:localhost";
    for (const std::string& each : addresses) names += ",IP:" + each;
    X509_NAME* name = X509_get_subject_name(&certificate);
    const auto* called = reinterpret_cast<const unsigned char*>("breakstep desk");
    return X509_set_version(&certificate, 2) == 1 &&
           ASN1_INTEGER_set_uint64(X509_get_serialNumber(&certificate), serial >> 1U) == 1 &&
           X509_gmtime_adj(X509_getm_notBefore(&certificate), -seconds_a_day) != nullptr &&
           X509_gmtime_adj(X509_getm_notAfter(&certificate), days * seconds_a_day) != nullptr &&
           X509_NAME_add_entry_by_txt(name, "CN", MBSTRING_UTF8, called, -1, -1, 0) == 1 &&
           X509_set_issuer_name(&certificate, name) == 1 && X509_set_pubkey(&certificate, &key) == 1 &&
           add_extension(certificate, NID_subject_alt_name, names) &&
           add_extension(certificate, NID_basic_constraints, "critical,CA:FALSE") &&
           add_extension(certificate, NID_key_usage, "critical,digitalSignature") &&
           add_extension(certificate, NID_ext_key_usage, "serverAuth") &&
           X509_sign(&certificate, &key, EVP_sha256()) != 0;
}

Memory memory_of(const std::string& text) {
    return Memory(BIO_new_mem_buf(text.data(), static_cast<int>(text.size())));
}

}  // namespace

Expected<Certificate> make_certificate(const std::vector<std::string>& addresses, int days) {
    const Key key(EVP_EC_gen("P-256"));
    const X509Pointer certificate(X509_new());
    if (!key || !certificate || !fill(*certificate, *key, addresses, days)) return openssl_failed("a certificate");
    const Memory keys(BIO_new(BIO_s_mem())), certificates(BIO_new(BIO_s_mem()));
    if (!keys || !certificates ||
        PEM_write_bio_PrivateKey(keys.get(), key.get(), nullptr, nullptr, 0, nullptr, nullptr) != 1 ||
        PEM_write_bio_X509(certificates.get(), certificate.get()) != 1)
        return openssl_failed("a certificate's text");
    return Certificate{text_of(*keys), text_of(*certificates), fingerprint(*certificate)};
}

Expected<std::string> fingerprint_of(const std::string& key_pem, const std::string& certificate_pem,
                                     const std::vector<std::string>& addresses) {
    const Memory keys = memory_of(key_pem), certificates = memory_of(certificate_pem);
    const Key key(PEM_read_bio_PrivateKey(keys.get(), nullptr, nullptr, nullptr));
    const X509Pointer certificate(PEM_read_bio_X509(certificates.get(), nullptr, nullptr, nullptr));
    const auto stale = [](const char* why) {
        return failure(ErrorKind::damaged, std::string("the desk's certificate ") + why, "a new one is made");
    };
    if (!key || !certificate) return stale("can't be read");
    if (X509_check_private_key(certificate.get(), key.get()) != 1) return stale("is of another key");
    std::time_t tomorrow = std::time(nullptr) + seconds_a_day;
    if (X509_cmp_time(X509_get0_notAfter(certificate.get()), &tomorrow) <= 0) return stale("is too old");
    for (const std::string& each : addresses)
        if (X509_check_ip_asc(certificate.get(), each.c_str(), 0) != 1) return stale("is of other addresses");
    return fingerprint(*certificate);
}

Expected<Certificate> certificate_in(const std::filesystem::path& folder, const std::vector<std::string>& addresses) {
    const auto key_file = folder / "key.pem", certificate_file = folder / "certificate.pem";
    const auto key = files::read_whole(key_file, longest_file),
               certificate = files::read_whole(certificate_file, longest_file);
    if (key && certificate)
        if (const auto known = fingerprint_of(*key, *certificate, addresses))
            return Certificate{*key, *certificate, *known};
    auto made = make_certificate(addresses);
    if (!made) return made;
    if (const auto folder_made = files::make_folder(folder); !folder_made)
        return tl::make_unexpected(folder_made.error());
    if (const auto written = files::write_whole(key_file, made->key_pem, files::Existing::replace); !written)
        return tl::make_unexpected(written.error());
    if (const auto written = files::write_whole(certificate_file, made->certificate_pem, files::Existing::replace);
        !written)
        return tl::make_unexpected(written.error());
    return made;
}

}  // namespace breakstep::desk

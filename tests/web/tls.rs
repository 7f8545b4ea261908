//! TLS, with certificates made here.

use crate::support::House;
use crate::support::served::Server;
use rcgen::{CertifiedKey, generate_simple_self_signed};
use rustls::pki_types::ServerName;
use rustls::{ClientConfig, ClientConnection, RootCertStore, StreamOwned};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::Arc;

fn made() -> CertifiedKey<rcgen::KeyPair> {
    generate_simple_self_signed(["aquarium.home".to_string()]).unwrap()
}

/// Lays a certificate and its key on the desk.
fn laid(house: &House) -> CertifiedKey<rcgen::KeyPair> {
    let made = made();
    house.lay("cert.pem", made.cert.pem()).lay("key.pem", made.signing_key.serialize_pem());
    made
}

/// A client that trusts this certificate alone, and what it is answered.
fn ask(server: &Server, trusted: &CertifiedKey<rcgen::KeyPair>, name: &str, request: &str) -> Result<String, String> {
    let mut roots = RootCertStore::empty();
    roots.add(trusted.cert.der().clone()).unwrap();
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider).with_safe_default_protocol_versions().unwrap();
    let mut config = config.with_root_certificates(roots).with_no_client_auth();
    // What browsers offer.
    config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
    let connection = ClientConnection::new(Arc::new(config), ServerName::try_from(name.to_string()).unwrap()).unwrap();
    let mut stream = StreamOwned::new(connection, TcpStream::connect(server.place()).unwrap());
    stream.write_all(request.as_bytes()).map_err(|e| e.to_string())?;
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    assert_eq!(stream.conn.alpn_protocol(), Some(&b"http/1.1"[..]));
    Ok(String::from_utf8_lossy(&answer).to_string())
}

#[test]
fn what_goes_over_tls_is_private() {
    let house = House::new();
    let own = laid(&house);
    let server = Server::start(&house, &["--lan", "--name", "aquarium.home", "--tls", "cert.pem", "key.pem"]);
    assert!(!server.said.contains("plain HTTP"), "{}", server.said);
    assert!(server.said.contains("at https://aquarium.home:"), "the name first: {}", server.said);
    let get = "GET / HTTP/1.1\r\nHost: aquarium.home\r\nConnection: close\r\n\r\n";
    let answer = ask(&server, &own, "aquarium.home", get).unwrap();
    assert!(answer.starts_with("HTTP/1.1 303") && answer.contains("location: /pair"), "{answer}");
    // The cookie goes back over TLS alone, and to this host alone.
    let code = server.said.lines().find_map(|l| l.split_once("for this code: ")).unwrap().1;
    let body = format!("code={code}");
    let post = format!(
        "POST /pair HTTP/1.1\r\nHost: aquarium.home\r\nOrigin: https://aquarium.home\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    let answer = ask(&server, &own, "aquarium.home", &post).unwrap();
    let cookie = answer.lines().find_map(|l| l.strip_prefix("set-cookie: ")).unwrap();
    assert!(cookie.starts_with("__Host-tintline=") && cookie.contains("; Secure"), "{cookie}");
    let get = get.replace("Connection", &format!("Cookie: {}\r\nConnection", cookie.split(';').next().unwrap()));
    assert!(ask(&server, &own, "aquarium.home", &get).unwrap().starts_with("HTTP/1.1 200"));
    // Another certificate, another name: no client is led astray.
    ask(&server, &made(), "aquarium.home", &get).unwrap_err();
    ask(&server, &own, "other.home", &get).unwrap_err();
    // Who speaks plainly is not understood, and not answered.
    let mut plain = TcpStream::connect(server.place()).unwrap();
    plain.write_all(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n").unwrap();
    let mut bytes = Vec::new();
    let _ = plain.read_to_end(&mut bytes);
    assert!(!bytes.starts_with(b"HTTP"), "{bytes:?}");
}

#[test]
fn what_is_wrong_with_a_certificate_is_said() {
    let house = House::new();
    laid(&house);
    house.lay("none.pem", "no key").lay("other.pem", made().signing_key.serialize_pem());
    let run = |certificate: &str, key: &str, code: &str, names: &str| {
        let args = ["serve", "--port", "0", "--tls", certificate, key];
        house.run(&args).exit(1).err_has(&format!("[{code}]")).err_has(names).go();
    };
    run("gone.pem", "key.pem", "tls-file", "gone.pem");
    run("cert.pem", "gone.pem", "tls-file", "gone.pem");
    run("none.pem", "key.pem", "tls-no-certificate", "none.pem");
    run("cert.pem", "none.pem", "tls-no-key", "none.pem");
    run("key.pem", "cert.pem", "tls-no-certificate", "certificate first");
    run("cert.pem", "other.pem", "tls-not-a-pair", "made with this certificate");
    house.run(&["serve", "--tls", "cert.pem"]).exit(2).err_has("--tls").go();
}

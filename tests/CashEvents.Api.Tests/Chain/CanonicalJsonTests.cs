using System.Buffers.Binary;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using CsCheck;
using Xunit;

namespace CashEvents.Api.Tests.Chain;

/// <summary>
/// Canonical JSON against the test data of RFC 8785. The files beside this one are testdata/input and testdata/output
/// of
/// github.com/cyberphone/json-canonicalization (the RFC's first author's repository) at commit 19d51d7, Apache License
/// 2.0 (the file LICENSE
/// beside them); numbers.txt is the list staticU64s of testdata/README.md there, from which also the checksums of the
/// number series are taken.
/// </summary>
public sealed class CanonicalJsonTests
{
    [Theory]
    [InlineData("arrays")]
    [InlineData("french")]
    [InlineData("structures")]
    [InlineData("unicode")]
    [InlineData("values")]
    [InlineData("weird")]
    public void The_published_inputs_give_the_published_outputs(string name) =>
        Assert.Equal(Encoding.UTF8.GetString(Published($"output/{name}.json")),
            Encoding.UTF8.GetString(CanonicalJson.Of(Published($"input/{name}.json"))));

    /// <summary>RFC 8785, appendix B.</summary>
    [Theory]
    [InlineData(0x0000000000000000, "0")]
    [InlineData(0x8000000000000000, "0")]
    [InlineData(0x0000000000000001, "5e-324")]
    [InlineData(0x8000000000000001, "-5e-324")]
    [InlineData(0x7fefffffffffffff, "1.7976931348623157e+308")]
    [InlineData(0xffefffffffffffff, "-1.7976931348623157e+308")]
    [InlineData(0x4340000000000000, "9007199254740992")]
    [InlineData(0xc340000000000000, "-9007199254740992")]
    [InlineData(0x4430000000000000, "295147905179352830000")]
    [InlineData(0x44b52d02c7e14af5, "9.999999999999997e+22")]
    [InlineData(0x44b52d02c7e14af6, "1e+23")]
    [InlineData(0x44b52d02c7e14af7, "1.0000000000000001e+23")]
    [InlineData(0x444b1ae4d6e2ef4e, "999999999999999700000")]
    [InlineData(0x444b1ae4d6e2ef4f, "999999999999999900000")]
    [InlineData(0x444b1ae4d6e2ef50, "1e+21")]
    [InlineData(0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7")]
    [InlineData(0x3eb0c6f7a0b5ed8d, "0.000001")]
    [InlineData(0x41b3de4355555553, "333333333.3333332")]
    [InlineData(0x41b3de4355555554, "333333333.33333325")]
    [InlineData(0x41b3de4355555555, "333333333.3333333")]
    [InlineData(0x41b3de4355555556, "333333333.3333334")]
    [InlineData(0x41b3de4355555557, "333333333.33333343")]
    [InlineData(0xbecbf647612f3696, "-0.0000033333333333333333")]
    [InlineData(0x43143ff3c1cb0959, "1424953923781206.2")]
    public void The_published_numbers_are_written_as_published(ulong bits, string written)
    {
        var number = BitConverter.UInt64BitsToDouble(bits);

        Assert.Equal(written, CanonicalJson.Number(number));
        Assert.Equal(written, Canonical(number.ToString("R", CultureInfo.InvariantCulture)));
    }

    /// <summary>RFC 8785, appendix B: these are errors.</summary>
    [Theory]
    [InlineData(0x7fffffffffffffff)]
    [InlineData(0x7ff0000000000000)]
    [InlineData(0xfff0000000000000)]
    public void What_is_no_number_is_not_written(ulong bits) =>
    Assert.Throws<JsonException>(() => CanonicalJson.Number(BitConverter.UInt64BitsToDouble(bits)));

    [Theory]
    [InlineData(1_000, "be18b62b6f69cdab33a7e0dae0d9cfa869fda80ddc712221570f9f40a5878687")]
    [InlineData(10_000, "b9f7a8e75ef22a835685a52ccba7f7d6bdc99e34b010992cbc5864cd12be6892")]
    [InlineData(100_000, "22776e6d4b49fa294a0d0f349268e5c28808fe7e0cb2bcbe28f63894e494d4c7")]
    public void The_published_series_of_numbers_has_the_published_checksum(int numbers, string checksum)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        foreach (var number in Series().Take(numbers))
        {
            hash.AppendData(Encoding.ASCII.GetBytes(
                $"{BitConverter.DoubleToUInt64Bits(number):x},{CanonicalJson.Number(number)}\n"));
        }

        Assert.Equal(checksum, Convert.ToHexStringLower(hash.GetHashAndReset()));
    }

    [Theory]
    [InlineData("4000", "4000")]
    [InlineData("4000.0", "4000")]
    [InlineData("4e3", "4000")]
    [InlineData("-0", "0")]
    [InlineData("9007199254740992", "9007199254740992")]
    [InlineData("9007199254740993", "9007199254740992")]
    [InlineData("-9223372036854775808", "-9223372036854776000")]
    [InlineData("100000000000000000000", "100000000000000000000")]
    public void A_number_is_written_in_one_way_however_it_came(string number, string written) =>
    Assert.Equal(written, Canonical(number));

    [Theory]
    [InlineData("""{"amount": 1, "amount": 2}""")]
    [InlineData("""{"amount": 1, "\u0061mount": 2}""")]
    [InlineData("""{"deep": [{"a": 1, "a": 1}]}""")]
    [InlineData(""" "\ud83d" """)]
    [InlineData(""" "\ude02\ud83d" """)]
    [InlineData("""{"\ud83d": 1}""")]
    [InlineData("1e400")]
    [InlineData("-1e400")]
    [InlineData("NaN")]
    [InlineData("{")]
    [InlineData("")]
    [InlineData("1 2")]
    public void What_I_JSON_does_not_allow_is_refused(string json) =>
    Assert.ThrowsAny<JsonException>(() => Canonical(json));

    [Fact]
    public void Bytes_that_are_not_UTF_8_are_refused() =>
    Assert.ThrowsAny<JsonException>(() => CanonicalJson.Of(new byte[] { (byte)'"', 0xC3, 0x28, (byte)'"' }));

    [Fact]
    public void Canonical_JSON_says_the_same_and_is_its_own_canonical_form() => Json.Sample(json =>
    {
        var canonical = Canonical(json);

        using var before = JsonDocument.Parse(json);
        using var after = JsonDocument.Parse(canonical);
        Assert.True(JsonElement.DeepEquals(before.RootElement, after.RootElement));
        Assert.Equal(canonical, Canonical(canonical));
    });

    [Fact]
    public void Order_spacing_and_escapes_make_no_difference() => Gen.Dictionary(Text, Number)[0, 8].Sample(fields =>
    {
        var one = fields.Select(f => $"{JsonSerializer.Serialize(f.Key)}:{f.Value}");
        var other = fields.Reverse()
            .Select(f => $"\n  \"{string.Concat(f.Key.Select(unit => $"\\u{(int)unit:X4}"))}\" : {f.Value} ");

        Assert.Equal(Canonical($"{{{string.Join(',', one)}}}"), Canonical($"{{{string.Join(',', other)}}}"));
    });

    private static Gen<string> Text => Gen.String[Gen.Char.Where(c => !char.IsSurrogate(c)), 0, 12];

    private static Gen<string> Number => Gen.OneOf(
        Gen.Long[-(1L << 53), 1L << 53].Select(n => n.ToString(CultureInfo.InvariantCulture)),
        Gen.Double.Where(double.IsFinite).Select(n => n.ToString("R", CultureInfo.InvariantCulture)));

    private static Gen<string> Json => Gen.Recursive<string>((depth, json) => depth >= 3
        ? Leaf
        : Gen.OneOf(
            Leaf,
            json.Array[0, 4].Select(items => $"[ {string.Join(" , ", items)} ]"),
            Gen.Dictionary(Text, json)[0, 4]
                .Select(fields =>
                    $"{{{string.Join(", ", fields.Select(f => $"{JsonSerializer.Serialize(f.Key)} : {f.Value}"))}}}")));

    private static Gen<string> Leaf =>
        Gen.OneOf(Number, Text.Select(t => JsonSerializer.Serialize(t)),
            Gen.OneOf(Gen.Const("null"), Gen.Const("true"), Gen.Const("false")));

    private static string Canonical(string json) =>
        Encoding.UTF8.GetString(CanonicalJson.Of(Encoding.UTF8.GetBytes(json)));

    private static byte[] Published(string name)
    {
        using var stream = typeof(CanonicalJsonTests).Assembly.GetManifestResourceStream($"rfc8785/{name}")!;
        using var memory = new MemoryStream();
        stream.CopyTo(memory);
        return memory.ToArray();
    }

    /// <summary>
    /// The series that testdata/README.md defines: listed numbers, 2,000 in a row from the smallest normal one, then
    /// the words of SHA-256 applied to itself.
    /// </summary>
    private static IEnumerable<double> Series()
    {
        foreach (var line in Encoding.ASCII.GetString(Published("numbers.txt"))
            .Split('\n', StringSplitOptions.RemoveEmptyEntries))
        {
            yield return BitConverter.UInt64BitsToDouble(
                ulong.Parse(line, NumberStyles.HexNumber, CultureInfo.InvariantCulture));
        }

        for (var i = 0UL; i < 2000; i++)
        {
            yield return BitConverter.UInt64BitsToDouble(0x0010000000000000 + i);
        }

        for (var block = SHA256.HashData(new byte[32]); ; block = SHA256.HashData(block))
        {
            for (var word = 0; word < 4; word++)
            {
                if (BinaryPrimitives.ReadDoubleLittleEndian(block.AsSpan(word * 8)) is var number && number != 0
                    && double.IsFinite(number))
                {
                    yield return number;
                }
            }
        }
    }
}

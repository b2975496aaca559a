using System.Security.Cryptography;
using Xunit;

namespace CashEvents.Api.Tests.Hosting;

public sealed class ReadyTests : IDisposable
{
    private const string Key = "a-key-that-the-keeper-chose-and-tells-nobody";
    private static CancellationToken Stop => TestContext.Current.CancellationToken;
    private readonly TemporaryDataFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [ThoroughFact]
    public async Task The_first_answer_of_a_first_start_comes_from_the_book_with_its_key_and_its_demo()
    {
        Assert.SkipUnless(OperatingSystem.IsLinux(),
            "Only Linux gives every loopback address to whoever listens there.");

        // An address that nobody else listens on, known before the program does.
        var address =
            $"http://127.{string.Join('.', RandomNumberGenerator.GetBytes(3).Select(part => part % 250 + 2))}:18080";
        await using var program = CashEventsProcess.Start(_folder.Path, Key, address, ["--demo"]);

        var first = await FirstAsync(program, "/api/balances");

        Assert.Contains("Ferry fares", first.MustBe(200).Text);
        (await program.Client(null).GetAsync("/health/ready")).MustBe(200);
        Assert.True((await program.Client(Key).LinesAsync()).Count > 100);
    }

    private static async Task<Reply> FirstAsync(CashEventsProcess program, string path)
    {
        while (true)
        {
            Assert.False(program.HasEnded, program.Output);
            try
            {
                return await program.Client(Key).GetAsync(path);
            }
            catch (HttpRequestException)
            {
                // It does not listen yet.
                await Task.Delay(1, Stop);
            }
        }
    }
}
